"""Every check of the project by one command: style, types, layers, tests. `--all` runs the slow tests too."""

from __future__ import annotations

import subprocess
import sys
import sysconfig
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
SCRIPTS = Path(sysconfig.get_path("scripts"))


def _checks(everything: bool) -> list[list[str]]:
    marks = [] if everything else ["-m", "not slow"]
    return [
        [sys.executable, "-m", "ruff", "check", "."],
        [sys.executable, "-m", "mypy"],
        [str(SCRIPTS / "lint-imports")],
        [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "-n", "2", *marks],
    ]


def main() -> int:
    """Run the checks in order; the first that fails ends the run with its status."""
    for command in _checks("--all" in sys.argv[1:]):
        print("$", " ".join(Path(part).name if part.startswith("/") else part for part in command), flush=True)
        status = subprocess.run(command, cwd=ROOT, check=False).returncode
        if status != 0:
            return status
    return 0


if __name__ == "__main__":
    sys.exit(main())
