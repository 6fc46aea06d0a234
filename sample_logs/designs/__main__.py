"""Draws the shop's designs again: ``python -m sample_logs.designs``."""

import sys

from sample_logs.designs import write_designs

for path in write_designs():
    sys.stdout.write(f"{path.name}  {path.stat().st_size:,} bytes\n")
