"""The trade as readable literals."""
