"""Lets the tests of the water share made_water.py."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
