"""Lets the tests of this room share their made channels."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
