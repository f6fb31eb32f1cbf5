"""What comes over the socket and should not: garbage, giants, other sites, wrong tokens. The incident is unharmed."""

from __future__ import annotations

import asyncio
import contextlib
import json
import random
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

from tests.fuzz.frames import FRAMES
from tests.live.conftest import Server

pytestmark = [pytest.mark.slow, pytest.mark.vosk]
websockets = pytest.importorskip("websockets.asyncio.client")
exceptions = pytest.importorskip("websockets.exceptions")


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    """One server for all: it has to bear them one after the other."""
    started = Server(tmp_path_factory.mktemp("served"))
    yield started
    started.stop()


def talk_to(server: Server, conversation: Any, **options: Any) -> Any:
    """Runs `conversation(socket)` over one connection."""

    async def run() -> Any:
        address = f"ws://127.0.0.1:{server.port}/live"
        async with websockets.connect(address, max_size=None, **options) as socket:
            return await conversation(socket)

    return asyncio.run(run())


async def answered(socket: Any, text: str) -> str:
    """The reply to a typed sentence."""

    async def voice() -> str:
        while True:
            message = json.loads(await socket.recv())
            if message["type"] == "line" and message["who"] == "voice":
                return str(message["text"])

    await socket.send(json.dumps({"type": "text", "text": text}))
    return await asyncio.wait_for(voice(), 20)


def still_works(server: Server) -> None:
    reply = talk_to(server, lambda socket: answered(socket, "bottle reads 1500, small cylinder, 15 litres"))
    assert "thirteen minutes" in reply


def test_a_hundred_frames_of_garbage(server: Server) -> None:
    rng = random.Random(1)

    async def garbage(socket: Any) -> None:
        with contextlib.suppress(exceptions.ConnectionClosed):
            for number in range(100):
                junk = rng.randbytes(rng.randrange(1, 400))
                await socket.send(junk if number % 2 else junk.decode("latin-1"))
        await asyncio.wait_for(socket.wait_closed(), 10)

    talk_to(server, garbage)
    still_works(server)


@pytest.mark.parametrize(
    "message",
    [
        "null", "[]", "{}", '{"type": 5}', '{"type": "text"}', '{"type": "text", "text": ["a"]}',
        '{"type": "talk", "on": true}',
        '{"type": "talk", "on": true, "rate": 1e9}', '{"type": "talk", "on": true, "rate": "48000"}', "[" * 5000,
        '{"type": "text", "text": "' + "a" * 600 + '"}',
    ],
)  # fmt: skip
def test_no_sense_is_no_harm(server: Server, message: str) -> None:
    async def send(socket: Any) -> str:
        await socket.send(message)
        return await answered(socket, "bottle reads 1500, small cylinder, 15 litres")

    assert "thirteen minutes" in talk_to(server, send)


def test_frames_made_up_near_the_right_ones(server: Server) -> None:
    """Sixty connections of up to sixty frames each; then it answers as before, and its log holds no traceback."""

    @settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
    @given(FRAMES)
    def send(frames: list[str | bytes]) -> None:
        async def all_of_them(socket: Any) -> None:
            with contextlib.suppress(exceptions.ConnectionClosed):
                for frame in frames:
                    await socket.send(frame)
                assert await socket.ping()

        talk_to(server, all_of_them)

    send()
    assert "Traceback" not in server.errors.read_text(encoding="utf-8")
    still_works(server)


def test_a_frame_of_a_gigabyte_is_cut_off_at_its_head(server: Server) -> None:
    async def giant() -> bytes:
        reader, writer = await asyncio.open_connection("127.0.0.1", server.port)
        writer.write(
            f"GET /live HTTP/1.1\r\nHost: 127.0.0.1:{server.port}\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n"
            "Sec-WebSocket-Key: AAAAAAAAAAAAAAAAAAAAAA==\r\nSec-WebSocket-Version: 13\r\n\r\n".encode()
        )
        await reader.readuntil(b"\r\n\r\n")
        writer.write(b"\x82\xff" + (1 << 30).to_bytes(8, "big") + b"\0\0\0\0")
        await writer.drain()
        try:
            for _ in range(1024):
                writer.write(bytes(1 << 20))
                await writer.drain()
        except ConnectionError:
            return b"cut"
        finally:
            writer.close()
        return b"taken"

    assert asyncio.run(giant()) == b"cut"
    still_works(server)


def test_a_page_of_another_site_is_refused(server: Server) -> None:
    with pytest.raises(exceptions.InvalidStatus):
        talk_to(server, lambda socket: answered(socket, "done"), origin="http://elsewhere.example")


def test_another_name_for_this_machine_is_refused(server: Server) -> None:
    request = urllib.request.Request(server.url, headers={"Host": "elsewhere.example"})
    with pytest.raises(urllib.error.HTTPError) as refused:
        urllib.request.urlopen(request, timeout=10)
    assert refused.value.code == 403
    refused.value.close()


def test_a_token_opens_and_nothing_else_does(tmp_path: Path) -> None:
    server = Server(tmp_path, "--host", "0.0.0.0", "--token", "our-own-token")
    try:
        here = f"http://127.0.0.1:{server.port}/"
        assert server.url.endswith("?token=our-own-token")
        assert server.process.stdout is not None
        assert "NOTICE: other machines on this network" in server.process.stdout.readline()
        for address in (here, f"{here}?token=wrong-token"):
            with pytest.raises(urllib.error.HTTPError) as refused:
                urllib.request.urlopen(address, timeout=10)
            assert refused.value.code == 403
            refused.value.close()
        with pytest.raises(exceptions.InvalidStatus):
            talk_to(server, lambda socket: answered(socket, "done"))
        opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
        with opener.open(f"{here}?token=our-own-token", timeout=10) as page:
            assert b"Hold to talk" in page.read()
        cookie = {"Cookie": "oxygen_assistant_token=our-own-token"}
        said = "bottle reads 1500, small cylinder, 15 litres"
        reply = talk_to(server, lambda socket: answered(socket, said), additional_headers=cookie)
        assert "thirteen minutes" in reply
    finally:
        server.stop()
