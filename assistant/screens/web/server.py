"""The server of the page: its files, its socket and the replies' sound. Takes a hub and a guard, gives an ASGI app.

Everything comes out of the package; nothing is fetched from anywhere.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from urllib.parse import parse_qs

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.routing import Route, WebSocketRoute
from starlette.websockets import WebSocket, WebSocketDisconnect

from assistant.screens.web.guard import COOKIE, HEADERS, Guard
from assistant.screens.web.hub import Browser, Hub

PAGE = Path(__file__).parent / "page"
FILES = {
    "/": ("index.html", "text/html; charset=utf-8"),
    "/look.css": ("look.css", "text/css; charset=utf-8"),
    "/page.js": ("page.js", "text/javascript; charset=utf-8"),
    "/sound.js": ("sound.js", "text/javascript; charset=utf-8"),
    "/talk.js": ("talk.js", "text/javascript; charset=utf-8"),
    "/supply.js": ("supply.js", "text/javascript; charset=utf-8"),
    "/chart.js": ("chart.js", "text/javascript; charset=utf-8"),
    "/microphone.js": ("microphone.js", "text/javascript; charset=utf-8"),
    "/icon.svg": ("icon.svg", "image/svg+xml"),
}
# The longest frame a browser has reason to send is a fifth of a second of samples at 192 kHz.
LARGEST_FRAME_BYTES = 96 * 1024
POLICY_VIOLATED, TRY_LATER = 1008, 1013

SoundOf = Callable[[str], "bytes | None"]
"""The WAV of a reply by its name; None where there is none. May take a second: called in a thread."""


def page_app(hub: Hub, guard: Guard, sound_of: SoundOf) -> Starlette:
    """The application; start-up and shut-down are the caller's."""

    def allowed(request: Request | WebSocket) -> bool:
        return guard.right_host(request.headers.get("host")) and guard.knows(request.cookies.get(COOKIE))

    async def file(request: Request) -> Response:
        if guard.right_host(request.headers.get("host")) and (entered := _entering(request, guard)) is not None:
            return entered
        if not allowed(request):
            return PlainTextResponse("The link with its token opens this page.\n", 403, HEADERS)
        name, kind = FILES[request.url.path]
        return Response((PAGE / name).read_bytes(), media_type=kind, headers=dict(HEADERS))

    async def sound(request: Request) -> Response:
        if not allowed(request):
            return PlainTextResponse("no\n", 403, HEADERS)
        wav = await asyncio.to_thread(sound_of, request.path_params["name"])
        if wav is None:
            return PlainTextResponse("There is no such sound.\n", 404, HEADERS)
        return Response(wav, media_type="audio/wav", headers=dict(HEADERS))

    async def socket(connection: WebSocket) -> None:
        right = guard.right_origin(connection.headers.get("origin"), connection.headers.get("host"))
        if not right or not allowed(connection):
            await connection.close(POLICY_VIOLATED)
            return
        await connection.accept()
        await _serve(connection, hub)

    routes = [Route(path, file) for path in FILES]
    return Starlette(routes=[*routes, Route("/sound/{name}.wav", sound), WebSocketRoute("/live", socket)])


def _entering(request: Request, guard: Guard) -> Response | None:
    """The link with the token sets a cookie and leads to the page without it, so that it stays in no history."""
    given = parse_qs(request.url.query).get("token", [None])[0]
    if guard.token is None or given is None or not guard.knows(given):
        return None
    entered = RedirectResponse("/", 303, dict(HEADERS))
    entered.set_cookie(COOKIE, given, httponly=True, samesite="strict", secure=request.url.scheme == "https")
    return entered


async def _serve(connection: WebSocket, hub: Hub) -> None:
    browser = hub.welcome()
    sending = asyncio.create_task(_send(connection, browser))
    try:
        await _receive(connection, hub, browser)
    finally:
        hub.farewell(browser)
        sending.cancel()
        with suppress(asyncio.CancelledError, RuntimeError, WebSocketDisconnect):
            await sending


async def _send(connection: WebSocket, browser: Browser) -> None:
    while not browser.gone:
        await connection.send_text(await browser.waiting.get())
    await connection.close(TRY_LATER)


async def _receive(connection: WebSocket, hub: Hub, browser: Browser) -> None:
    while True:
        message = await connection.receive()
        if message["type"] == "websocket.disconnect":
            return
        text, pcm = message.get("text"), message.get("bytes")
        kept = hub.take_text(browser, text) if text is not None else hub.take_bytes(browser, pcm or b"")
        if not kept:
            with suppress(RuntimeError):
                await connection.close(POLICY_VIOLATED)
            return
