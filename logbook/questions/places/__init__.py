"""Where on a design the defects lie, and whether they lean to dense places."""
