"""A run: what can be written down, what cannot be true, and what makes two runs the same.

No book is needed for any of it; what is done with the runs of one is in :mod:`logbook.book`.
"""
