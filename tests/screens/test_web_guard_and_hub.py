"""Who may come in, what nonsense does, and that there is one microphone."""

from __future__ import annotations

import asyncio
import json
from typing import Any

import pytest

from assistant.screens.web.guard import Guard, is_loopback
from assistant.screens.web.hub import KEPT_LINES, MOST_NONSENSE, MOST_WAITING, Browser, Hub


@pytest.mark.parametrize("host", ["localhost:8791", "127.0.0.1:8791", "[::1]:8791", "localhost"])
def test_loopback_is_the_right_host(host: str) -> None:
    assert Guard().right_host(host)
    assert Guard().right_origin(f"http://{host}", host)


@pytest.mark.parametrize("host", ["elsewhere.example", "127.0.0.1.elsewhere.example", "", None, "[", "192.0.2.7:8791"])
def test_any_other_is_not(host: str | None) -> None:
    assert not Guard().right_host(host)


@pytest.mark.parametrize("origin", ["http://elsewhere.example", "null", "http://127.0.0.1:9999", "http://localhost:8791"])
def test_a_page_from_elsewhere_is_refused(origin: str) -> None:
    assert not Guard().right_origin(origin, "127.0.0.1:8791")
    assert not Guard(token="secret-token").right_origin(origin, "127.0.0.1:8791")


def test_a_program_without_an_origin_may_come_in() -> None:
    assert Guard().right_origin(None, "127.0.0.1:8791")


def test_the_token_is_needed_where_there_is_one() -> None:
    assert Guard().knows(None)
    guarded = Guard(token="secret-token")
    assert guarded.knows("secret-token")
    assert not any(guarded.knows(wrong) for wrong in (None, "", "secret", "secret-token-"))


def test_which_addresses_are_this_machines_own() -> None:
    assert all(is_loopback(host) for host in ("127.0.0.1", "127.0.0.9", "::1", "localhost"))
    assert not any(is_loopback(host) for host in ("0.0.0.0", "::", "192.0.2.7", "elsewhere.example"))


class Listener:
    """An audience that notes what it is given."""

    def __init__(self) -> None:
        self.noted: list[Any] = []

    def typed(self, text: str) -> None:
        self.noted.append(text)

    def talk(self, rate_hz: int) -> None:
        self.noted.append(("talk", rate_hz))

    def samples(self, pcm: bytes) -> None:
        self.noted.append(pcm)

    def talked(self, *, dropped: bool) -> None:
        self.noted.append(("talked", dropped))

    def snapshot(self) -> list[dict[str, Any]]:
        return [{"type": "state"}]


class Room:
    """A hub with an audience, outside a server."""

    def __init__(self) -> None:
        self.hub, self.audience = Hub(), Listener()
        self.loop = asyncio.new_event_loop()
        self.hub.opened(self.loop, self.audience)

    def sent(self, browser: Browser) -> list[dict[str, Any]]:
        self.loop.run_until_complete(asyncio.sleep(0))
        return [json.loads(browser.waiting.get_nowait()) for _ in range(browser.waiting.qsize())]

    def talk(self, browser: Browser, **message: Any) -> bool:
        return self.hub.take_text(browser, json.dumps({"type": "talk", **message}))


@pytest.fixture
def room() -> Any:
    made = Room()
    yield made
    made.loop.close()


def test_a_late_browser_is_told_all_that_was_said(room: Room) -> None:
    for number in range(KEPT_LINES + 5):
        room.hub.post({"type": "line", "text": str(number)})
    room.loop.run_until_complete(asyncio.sleep(0))
    hello, microphone, state = room.sent(room.hub.welcome())
    assert [line["text"] for line in hello["lines"]] == [str(number) for number in range(5, KEPT_LINES + 5)]
    assert (microphone["whose"], state["type"]) == ("nobody", "state")


def test_one_talks_and_the_other_is_refused_politely(room: Room) -> None:
    first, second = room.hub.welcome(), room.hub.welcome()
    assert room.talk(first, on=True, rate=48_000)
    assert room.sent(first)[-1] == {"type": "microphone", "whose": "yours"}
    assert room.sent(second)[-1] == {"type": "microphone", "whose": "another"}
    assert room.talk(second, on=True, rate=48_000)
    assert "Another screen's microphone" in room.sent(second)[-1]["why"]
    assert room.hub.take_bytes(second, b"\0\0")
    assert room.hub.take_bytes(first, b"\1\0")
    assert room.talk(first, on=False)
    assert room.audience.noted == [("talk", 48_000), b"\1\0", ("talked", False)]
    assert room.talk(second, on=True, rate=16_000)
    assert room.sent(second)[-1] == {"type": "microphone", "whose": "yours"}


def test_a_closed_tab_drops_its_half_sentence(room: Room) -> None:
    browser, other = room.hub.welcome(), room.hub.welcome()
    room.talk(browser, on=True, rate=48_000)
    room.hub.farewell(browser)
    assert room.audience.noted[-1] == ("talked", True)
    assert room.sent(other)[-1] == {"type": "microphone", "whose": "nobody"}


@pytest.mark.parametrize(
    "text",
    ["", "no json", "5", "[]", "{}", '{"type": []}', '{"type": "text", "text": ""}', '{"type": "talk", "on": true}'],
)
def test_nonsense_is_left_alone_and_too_much_of_it_ends_the_visit(room: Room, text: str) -> None:
    browser = room.hub.welcome()
    assert all(room.hub.take_text(browser, text) for _ in range(MOST_NONSENSE))
    assert not room.hub.take_text(browser, text)
    assert room.audience.noted == []


def test_a_browser_that_takes_nothing_is_let_go(room: Room) -> None:
    browser = room.hub.welcome()
    for _ in range(MOST_WAITING):
        room.hub.post({"type": "state"})
    room.loop.run_until_complete(asyncio.sleep(0))
    assert browser.gone
    assert room.hub.count == 0
