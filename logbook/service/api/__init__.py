"""The HTTP API of a book, for other systems: JSON in and out with the run sheet's names."""
