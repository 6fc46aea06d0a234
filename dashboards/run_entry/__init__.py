"""The parts of the page that logs a run: what is typed, the setup, the counts, the saving."""
