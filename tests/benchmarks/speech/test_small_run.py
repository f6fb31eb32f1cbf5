"""The benchmark runs from speech to table: a few commands in two voices, quiet and over a radio."""

import json
import os
import shutil

import pytest
import run

from assistant.hearing.errors import ModelMissingError
from assistant.hearing.find_model import vosk_model

SMALL = ["--voices", "flite-rms,espeak-us-m3", "--every", "12", "--conditions", "quiet,radio15", "--json"]


def need_model() -> None:
    """Without the model this fails in CI; elsewhere it skips and says what is missing."""
    try:
        vosk_model(None, fetch=bool(os.environ.get("CI")))
    except ModelMissingError as missing:
        (pytest.fail if os.environ.get("CI") else pytest.skip)(f"no vosk model ({missing})")


@pytest.mark.slow
@pytest.mark.vosk
def test_a_small_run_prints_shares_and_remembers_what_it_heard(capsys, tmp_path):
    if not (shutil.which("flite") and shutil.which("espeak-ng")):
        pytest.skip("no synthesisers: apt-get install flite espeak-ng")
    need_model()
    details = tmp_path / "details.jsonl"
    run.main([*SMALL, "--details", str(details)])
    rows = [json.loads(line) for line in capsys.readouterr().out.splitlines() if line]
    quiet, radio = (row for row in rows if row["table"] == "Commands")
    assert quiet["condition"] == "quiet"
    assert radio["condition"] == "radio15"
    assert quiet["n"] == radio["n"] >= 8
    assert quiet["right_at_once"]["percent"] >= 80
    assert len(details.read_text(encoding="utf-8").splitlines()) == 2 * quiet["n"]
    run.main(SMALL)
    assert "graph+turn: 0 heard anew" in capsys.readouterr().err
