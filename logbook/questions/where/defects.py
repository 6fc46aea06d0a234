"""What can be asked about besides kinds of defect."""

COST = "cost"
"""All kinds together, in money."""
