"""The score of a drill: hits from misses and the late, what was put right, and the sheet that shows it."""

from __future__ import annotations

import io

import pytest
from rich.console import Console

from assistant.incident import drill as dr
from assistant.incident.drill_score import ScoreLine, ScoreSheet, scored
from assistant.incident.events import AlertAcknowledged, AlertRaised, Event, GaugeRead, ProblemReported, Withdrawn
from assistant.screens.drill_view import show_sheet
from tests.incident.drill.trainee import KIT, Trainee, good


def _line(sheet: ScoreSheet, what: str) -> ScoreLine:
    return next(line for line in sheet.lines if line.what == what)


@pytest.mark.parametrize("seed", range(8))
def test_all_done_in_time_scores_in_full(seed: int) -> None:
    sheet = scored(dr.drill_of(seed, KIT), good(seed).plays().events)
    assert [line.what for line in sheet.lines if not line.good] == []
    assert len(sheet.lines) >= 14
    assert sheet.ended_at_s == dr.ENDS_S


@pytest.mark.parametrize("seed", range(4))
def test_nothing_done_misses_everything(seed: int) -> None:
    sheet = scored(dr.drill_of(seed, KIT), Trainee(drill=dr.drill_of(seed, KIT), hears={}).plays().events)
    assert sheet.good == 0
    assert sheet.missed == len(sheet.lines)
    assert _line(sheet, "bottle changed").remark == "reserve reached first"


def test_slow_is_late_and_not_missed() -> None:
    sheet = scored(dr.drill_of(1, KIT), good(1, delay_s=80.0).plays().events)
    reported = _line(sheet, "leak reported")
    assert (reported.seconds, reported.good) == (80.0, False)
    assert sheet.missed == 0


def test_an_early_end_scores_only_what_was_told() -> None:
    sheet = scored(dr.drill_of(1, KIT), good(1).plays(to_s=100).events)
    assert {line.what for line in sheet.lines} == {"size told", "gauge told", "flow told", "device told", "boat told"}


def _takes_wrong(t: Trainee, at_s: float) -> list[Event]:
    return [t.needle(at_s, above_bar=t.drill.wrong_above_bar)]


def test_a_wrong_reading_taken_is_a_miss_until_it_is_put_right() -> None:
    silent = {"own_eyes": lambda t, s: [], "look": lambda t, s: []}
    taken = scored(dr.drill_of(2, KIT), good(2, wrong_reading=_takes_wrong, **silent).plays().events)
    line = _line(taken, "wrong reading caught")
    assert (line.good, line.remark) == (False, "false reading taken")
    righted = scored(dr.drill_of(2, KIT), good(2, wrong_reading=_takes_wrong).plays().events)
    assert (_line(righted, "wrong reading caught").good, _line(righted, "wrong reading caught").remark) == (
        True,
        "taken, then put right",
    )


def test_a_withdrawn_reading_is_no_longer_in_force() -> None:
    def withdraws(t: Trainee, at_s: float) -> list[Event]:
        number = max(n for n, e in enumerate(t.events, 1) if isinstance(e, GaugeRead))
        return [Withdrawn(at_s=at_s, numbers=(number,)), t.needle(at_s)]

    sheet = scored(dr.drill_of(2, KIT), good(2, wrong_reading=_takes_wrong, own_eyes=withdraws).plays().events)
    assert (_line(sheet, "wrong reading caught").good, _line(sheet, "wrong reading caught").remark) == (True, "")


def test_the_cold_taken_for_a_leak_is_remarked() -> None:
    seed = next(s for s in range(50) if _cold_first(s))

    def mistakes(t: Trainee, at_s: float) -> list[Event]:
        return [ProblemReported(at_s=at_s, what="hissing")]

    sheet = scored(dr.drill_of(seed, KIT), good(seed, cold_cylinder=mistakes).plays().events)
    line = _line(sheet, "cold told")
    assert (line.done_at_s, line.remark) == (None, "the cold was taken for a leak")


def _cold_first(seed: int) -> bool:
    truth = dr.drill_of(seed, KIT).truth
    return truth.cold_from_s < truth.leak_from_s


def test_an_alert_is_scored_by_when_it_was_heard() -> None:
    drill = dr.drill_of(0, KIT)
    raised = AlertRaised(at_s=10.0, alert="reserve_reached", priority="high", say="", cylinder="1")
    again = AlertRaised(at_s=40.0, alert="reserve_reached", priority="high", say="", cylinder="1")
    heard = AlertAcknowledged(at_s=55.0, alert="reserve_reached", cylinder="1")
    low = AlertRaised(at_s=12.0, alert="reading_overdue", priority="low", say="", cylinder="1")
    line = _line(scored(drill, [raised, low, again, heard]), "alert heard: reserve reached")
    assert (line.seconds, line.good) == (45.0, True)
    assert _line(scored(drill, [raised, again]), "alert heard: reserve reached").done_at_s is None
    assert len(scored(drill, [low]).lines) == 0


def test_the_sheet_shows_hits_misses_and_times() -> None:
    out = io.StringIO()
    lines = (
        ScoreLine(what="leak reported", arose_at_s=150.0, done_at_s=171.0, within_s=60.0),
        ScoreLine(
            what="cold told", arose_at_s=300.0, done_at_s=None, within_s=90.0, remark="the cold was taken for a leak"
        ),
        ScoreLine(what="gauge read", arose_at_s=400.0, done_at_s=475.0, within_s=60.0),
        ScoreLine(what="bottle changed", arose_at_s=700.0, done_at_s=680.0, within_s=0.0),
    )
    show_sheet(ScoreSheet(seed=9, lines=lines, ended_at_s=900.0), Console(file=out, width=110))
    text = out.getvalue()
    rows = [" ".join(cell.strip() for cell in row.strip("│ ").split("│")) for row in text.splitlines() if "│" in row]
    assert "0:02:30 leak reported 21 s 60 s + in time" in rows[0]
    assert "0:05:00 cold told - 90 s x missed the cold was taken for a leak" in rows[1]
    assert "0:06:40 gauge read 75 s 60 s ! late" in rows[2]
    assert "0:11:40 bottle changed 20 s early by then + in time" in rows[3]
    assert "2 of 4 in time, 1 late, 1 missed; played 0:15:00. No gas was used." in text
