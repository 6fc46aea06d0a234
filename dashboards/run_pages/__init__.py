"""The parts of the page on runs: what is looked for, the list, one run, its corrections."""
