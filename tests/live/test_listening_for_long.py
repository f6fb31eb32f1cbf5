"""Listening for long takes no more memory at its end than in its beginning: the benchmark's own measure."""

from __future__ import annotations

import subprocess
import sys

import pytest

from tests.live.conftest import ROOT, environment

pytestmark = [pytest.mark.slow, pytest.mark.vosk]
MINUTES = 30
# Before the ears were exchanged for fresh ones it grew by 7 MB and more in twenty minutes.
MOST_MB = 4.0


def test_memory_is_no_more_in_the_second_half_than_in_the_first() -> None:
    program = ROOT / "tests" / "benchmarks" / "live" / "endurance.py"
    done = subprocess.run(
        [sys.executable, str(program), "--only", "memory", "--minutes", str(MINUTES)],
        env=environment(), capture_output=True, text=True, timeout=3000,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    grown_mb = float(done.stdout.split("first half, ")[1].split(" MB")[0])
    assert grown_mb < MOST_MB, done.stdout
