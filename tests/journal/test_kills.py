"""A few kills and power cuts at random moments; the benchmark does the same three hundred times."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
KILLS = ROOT / "tests" / "benchmarks" / "journal" / "kills.py"


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has no SIGKILL")
def test_nothing_acknowledged_is_lost() -> None:
    done = subprocess.run(
        [sys.executable, str(KILLS), "--kills", "5", "--cuts", "8"],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    counts = {name: int(count) for name, count in re.findall(r"│ (.+?) +│ (\d+) +│", done.stdout)}
    assert done.returncode == 0, done.stdout + done.stderr
    assert (counts["kills"], counts["cuts"], counts["cuts in the middle of a record, and said so"]) == (5, 8, 6)
    assert counts["values acknowledged"] > 5
    assert [name for name, count in counts.items() if name.startswith("FAULT") and count] == []
    assert sum(name.startswith("FAULT") for name in counts) == 7
