"""Where the benchmark finds things: the repository, the voices' module, what lies beside the repository, its cache."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from platformdirs import user_cache_path

REPOSITORY = Path(__file__).resolve().parents[3]
HUMAN_SPEECH = REPOSITORY.parent / "shared" / "human_speech"
POCKETSPHINX_DATA = Path("/usr/share/pocketsphinx/test/data")  # Debian's pocketsphinx-testdata
CACHE = Path(os.environ.get("OXYGEN_BENCHMARK_CACHE") or user_cache_path("oxygen-assistant") / "benchmark")
for folder in (REPOSITORY, REPOSITORY / "audio_samples"):
    if str(folder) not in sys.path:
        sys.path.insert(0, str(folder))
(CACHE / "spoken").mkdir(parents=True, exist_ok=True)
