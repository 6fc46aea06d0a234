"""Strange sheets: where their table lies, what its columns and cells mean, and what is unclear.

What comes out is text under the run sheet's names, as the strict intake reads it.
"""
