"""One year of an invented contract embroidery shop: run sheets, prices and the truth behind them.

``FOLDER`` is where the sheets lie; ``python -m sample_logs.simulate`` makes them again, byte for
byte. Every person, customer, supplier and design is invented.
"""

from pathlib import Path

__all__ = ["FOLDER"]

FOLDER = Path(__file__).parent
