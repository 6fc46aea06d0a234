"""A production log and defect analytics service for machine embroidery."""
