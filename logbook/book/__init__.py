"""What a shop does with its open book: log and correct runs, take sheets in, keep designs and more.

What a run is, and what cannot be true of one, is said without any book in :mod:`logbook.runs`.
"""
