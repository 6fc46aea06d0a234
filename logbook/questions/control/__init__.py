"""How one defect went over time, and which points stand out."""
