"""Python twins of the commands: each takes an open book and answers one question or request."""
