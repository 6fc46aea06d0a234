"""The parts of the page on materials: four shelves, one material, its changes."""
