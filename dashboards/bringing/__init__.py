"""The parts of the page on which a sheet is brought in."""
