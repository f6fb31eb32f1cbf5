"""Typing a question must not wait for heavy libraries: the calculator loads none of them before it needs one."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
MODULES = "kit, kit_file, sizes, supply, lasting, order, devices, place, plan, handbook"


@pytest.mark.parametrize("heavy", ["pint", "numpy", "CoolProp", "scipy", "rich"])
def test_no_heavy_library_is_loaded_for_a_typed_question(heavy: str) -> None:
    code = (
        f"import sys; from assistant.oxygen import {MODULES}; from assistant.quantity import convert\n"
        "made = kit.default_kit(); spec = made.cylinders[0].spec\n"
        "supply.minutes_to(spec, convert(1500, 'psi', 'bar'), made.reserve_bar, 15)\n"
        f"sys.exit({heavy!r} in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=False).returncode == 0
