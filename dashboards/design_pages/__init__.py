"""The parts of the page of designs."""
