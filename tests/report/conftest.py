"""Lets the tests of the report import their bench sheet by name."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
