"""Where thread and needles break: which head, which needle, which stitch."""
