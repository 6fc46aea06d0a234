"""A run: what can be written down, what cannot be true, and what makes two runs the same."""
