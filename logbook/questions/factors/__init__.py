"""Which setup factors go with a defect, on like jobs."""
