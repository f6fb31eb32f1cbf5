"""Makes the benchmark's modules importable, as running its script does."""

import sys
from pathlib import Path

import pytest

pytest.importorskip("platformdirs")
sys.path.insert(0, str(Path(__file__).resolve().parent))
import places  # noqa: F401
