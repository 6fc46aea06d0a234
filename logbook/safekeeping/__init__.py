"""The whole book kept safe: backed up, restored, verified."""
