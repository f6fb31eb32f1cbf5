"""The page in a real browser: a command spoken into its microphone, two browsers on one incident, what goes wrong."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from assistant.journal import incidents, read
from tests.live.conftest import COMMAND_WAV, Server, microphone_wav, within

pytestmark = [pytest.mark.slow, pytest.mark.vosk]
WHOLE = "bottle two reads 1500, small cylinder, 15 litres, sats 91, boat in seventy minutes"
MINUTES = ".minutes:not(.unknown) .figure"


def opened(context: Any, server: Server) -> Any:
    page = context.new_page()
    page.goto(server.url)
    page.wait_for_selector("#link-words:text-is('Connected')")
    return page


def typed(page: Any, text: str) -> None:
    page.fill("#words", text)
    page.press("#words", "Enter")


def test_a_spoken_command_shows_the_minutes_and_stands_in_the_record(
    served: Server, browsing: Callable[..., Any], tmp_path: Path
) -> None:
    page = opened(browsing(microphone_wav(COMMAND_WAV, tmp_path / "microphone.wav")), served)
    button = page.locator("#talk")
    button.hover()
    page.mouse.down()
    page.wait_for_selector(MINUTES, timeout=30_000)
    page.mouse.up()
    # 1500 psi of D above 200 psi: (1500 - 200) x 0.16 L/psi / 15 L/min = 13.9 min (the contract's own example).
    assert page.inner_text(MINUTES) == "13"
    assert "fifteen hundred small cylinder fifteen litres" in page.inner_text("#log")
    kinds = [record.event.kind for record in read(incidents(tmp_path / "record")[0].path).records]
    assert {"gauge_read", "cylinder_sized", "flow_set"} <= set(kinds)


def test_the_space_bar_talks_too(served: Server, browsing: Callable[..., Any], tmp_path: Path) -> None:
    page = opened(browsing(microphone_wav(COMMAND_WAV, tmp_path / "microphone.wav")), served)
    page.keyboard.down(" ")
    page.wait_for_selector(MINUTES, timeout=30_000)
    page.keyboard.up(" ")
    page.wait_for_selector("#talk[aria-pressed='false']")


def test_the_reply_is_fetched_and_played(served: Server, browsing: Callable[..., Any]) -> None:
    page = opened(browsing(), served)
    with page.expect_response("**/sound/*.wav") as response:
        typed(page, "bottle reads 1500, small cylinder, 15 litres")
    assert response.value.ok
    assert response.value.body()[:4] == b"RIFF"


def test_two_browsers_see_one_incident_and_one_microphone(
    served: Server, browsing: Callable[..., Any], tmp_path: Path
) -> None:
    wav = microphone_wav(COMMAND_WAV, tmp_path / "microphone.wav", before_s=8.0)
    context = browsing(wav)
    first, second = opened(context, served), opened(context, served)
    typed(first, "bottle reads 1500, small cylinder, 15 litres")
    second.wait_for_selector(MINUTES)
    first.locator("#talk").click()  # a short tap leaves it open
    second.wait_for_selector("#talk:disabled")
    assert second.inner_text("#talk-words") == "Another screen talks"
    first.locator("#talk").click()
    second.wait_for_selector("#talk:enabled")


def test_a_closed_tab_mid_word_takes_nothing_and_frees_the_microphone(
    served: Server, browsing: Callable[..., Any], tmp_path: Path
) -> None:
    context = browsing(microphone_wav(COMMAND_WAV, tmp_path / "microphone.wav", before_s=0.3))
    talking, watching = opened(context, served), opened(context, served)
    talking.locator("#talk").click()
    watching.wait_for_selector("#talk-how.partial", timeout=20_000)
    talking.close()
    watching.wait_for_selector("#talk:enabled")
    watching.wait_for_timeout(2500)
    assert watching.locator(MINUTES).count() == 0
    typed(watching, "bottle reads 1500, small cylinder, 15 litres")
    watching.wait_for_selector(MINUTES)


def test_a_lost_connection_is_shown_and_heals(tmp_path: Path, browsing: Callable[..., Any]) -> None:
    server = Server(tmp_path)
    page = opened(browsing(), server)
    typed(page, "bottle reads 1500, small cylinder, 15 litres")
    page.wait_for_selector(MINUTES)
    port = server.port
    server.stop()
    page.wait_for_selector("#link.lost", timeout=5_000)
    assert "Connection lost" in page.inner_text("#link-words")
    again = Server(tmp_path, "--port", str(port))
    try:
        page.wait_for_selector("#link-words:text-is('Connected')", timeout=30_000)
        assert page.inner_text(MINUTES) in ("12", "13")
        assert "fifteen hundred" in page.inner_text("#log").lower()
    finally:
        again.stop()


def test_a_denied_microphone_is_told_and_typing_works(served: Server, browsing: Callable[..., Any]) -> None:
    page = opened(browsing(allowed=False), served)
    page.locator("#talk").click()
    within(10, lambda: "microphone" in page.inner_text("#log").lower(), "a word about the microphone")
    typed(page, "bottle reads 1500, small cylinder, 15 litres")
    page.wait_for_selector(MINUTES)


@pytest.mark.parametrize(("width", "height"), [(1366, 768), (1024, 768), (768, 1024), (390, 844)])
def test_no_words_stand_out_of_the_page_or_under_its_edge(
    served: Server, browsing: Callable[..., Any], width: int, height: int
) -> None:
    """First with all that is lacking in large words, then with everything known and an alert."""
    page = opened(browsing(), served)
    page.set_viewport_size({"width": width, "height": height})
    for said, shown in (("I have swapped to cylinder two", ".unknown .figure"), (WHOLE, "#alert:not([hidden])")):
        typed(page, said)
        page.wait_for_selector(shown)
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        out = "each => [...each].filter(one => one.scrollWidth > one.clientWidth + 1).map(one => one.textContent)"
        assert page.eval_on_selector_all(".figure, .unit, .small, #next-words, #road-words, #alert-words", out) == []
        assert page.locator("#words").bounding_box()["width"] >= 200, "what is typed is seen"
        road = page.locator("#road-words")
        if width > 900 and road.is_visible():
            box, footer = road.bounding_box(), page.locator("footer").bounding_box()
            assert box["y"] + box["height"] <= footer["y"] + 1, "nothing half hidden behind the buttons"


@pytest.mark.parametrize("width", [1366, 390])
def test_the_chart_is_drawn_at_its_own_size_and_takes_no_room_while_it_is_empty(
    served: Server, browsing: Callable[..., Any], width: int
) -> None:
    page = opened(browsing(), served)
    page.set_viewport_size({"width": width, "height": 844})
    page.wait_for_selector("#chart.empty text")
    assert page.locator("#chart").bounding_box()["height"] < 50
    typed(page, "bottle reads 1500, small cylinder, 15 litres")
    page.wait_for_selector("#chart:not(.empty) .dot")
    size = "svg => [svg.viewBox.baseVal.width - svg.clientWidth, svg.viewBox.baseVal.height - svg.clientHeight]"
    within(5, lambda: page.eval_on_selector("#chart", size) == [0, 0], "words as large as elsewhere")


def test_nothing_is_asked_of_any_other_server(served: Server, browsing: Callable[..., Any]) -> None:
    context = browsing()
    asked: list[str] = []
    context.on("request", lambda request: asked.append(request.url))
    opened(context, served)
    assert asked
    assert all(url.startswith(served.url) for url in asked)
