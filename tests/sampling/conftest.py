"""Lets the tests of this room share their small records."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
