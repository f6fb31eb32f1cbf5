"""`serve`: the conversation on a local web page, seen by several browsers, spoken to from one of them at a time."""

from __future__ import annotations

import asyncio
import secrets
import sys
from argparse import ArgumentParser, Namespace
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assistant.commands.chat import close
from assistant.commands.live_ears import Ears, ears_for, endpointer_for
from assistant.commands.opening import UserError, notice
from assistant.commands.sitting import Sitting, add_live_options, conversation_of, mouth_of, sitting_from
from assistant.hearing.spotting import NoSpotter
from assistant.live.addressing import OpenMicrophone
from assistant.live.browser_source import BrowserSource
from assistant.live.listening import Listening
from assistant.live.web_audience import EARS_TOLD_EVERY_S, WebAudience, WebScreen
from assistant.screens.web.guard import Guard, is_loopback
from assistant.screens.web.hub import Hub
from assistant.screens.web.server import LARGEST_FRAME_BYTES, page_app

if TYPE_CHECKING:
    import uvicorn

HELP = "the same conversation on a local web page"
RENEWED_EVERY_S = 1.0
PORT = 8791


def add_arguments(parser: ArgumentParser) -> None:
    """The command's arguments."""
    add_live_options(parser)
    parser.add_argument("--host", default="127.0.0.1", help="address to serve on (default: this machine alone)")
    parser.add_argument("--port", type=int, default=PORT, help=f"port (default {PORT}; 0 takes a free one)")
    parser.add_argument("--token", help="what other machines must bring; made up where --host needs one")
    parser.add_argument("--certificate", type=Path, metavar="PEM", help="serve https, which microphones elsewhere need")
    parser.add_argument("--key", type=Path, metavar="PEM", help="the certificate's private key")
    parser.add_argument("--mute", action="store_true", help="show the replies, do not speak them")


def run(args: Namespace) -> int:
    """Serve until a signal."""
    guard = _guard(args)
    _refuse_what_cannot_be_served(args)
    sitting = sitting_from(args)
    sitting = replace(sitting, settings=replace(sitting.settings, address="open"))
    try:
        ears = ears_for(args, sitting)
        asyncio.run(_Served(args, sitting, ears, guard).run())
    finally:
        close(sitting, ended=False)
    return 0


def _guard(args: Namespace) -> Guard:
    if is_loopback(args.host) and args.token is None:
        return Guard()
    token = args.token or secrets.token_urlsafe(18)
    if len(token) < 8:
        raise UserError("--token: at least 8 characters, as anybody on the network may try them")
    return Guard(token=token)


def _refuse_what_cannot_be_served(args: Namespace) -> None:
    """Before the record is opened: an address that is taken or is none of ours, a certificate that is not there."""
    import socket

    for file in (args.certificate, args.key):
        if file is not None and not file.is_file():
            raise UserError(f"{file}: there is no such file")
    if args.key is not None and args.certificate is None:
        raise UserError("--key goes with --certificate")
    if not 0 <= args.port <= 65_535:
        raise UserError(f"port {args.port}: cannot be served on (ports go from 0 to 65535)")
    try:
        [(family, *_, address), *_] = socket.getaddrinfo(args.host, args.port, type=socket.SOCK_STREAM)
        with socket.socket(family, socket.SOCK_STREAM) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            probe.bind(address)
    except (OSError, OverflowError, UnicodeError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise UserError(f"{args.host}, port {args.port}: cannot be served on ({why}); try --port 0") from error


class _Served:
    """The parts of one server, wired together."""

    def __init__(self, args: Namespace, sitting: Sitting, ears: Ears, guard: Guard) -> None:
        self._args = args
        self._guard = guard
        self._sitting = sitting
        self._hub = Hub()
        mouth: Any = None if args.mute else mouth_of(sitting.settings, notice)
        self._screen = WebScreen(self._hub, mouth)
        self._conversation = conversation_of(sitting, self._screen, self._tell)
        source = BrowserSource()
        self._listening = Listening(
            source,
            endpointer_for(sitting, ears, self._conversation, args.model),
            OpenMicrophone(),
            self._hear,
            spotter=NoSpotter(),
            hush=lambda: False,
            trouble=lambda line: self._tell(line, ""),
        )
        journal = sitting.recording.journal
        self._audience = WebAudience(
            self._conversation, sitting.setting, source, self._listening, self._hub, lambda: journal.trouble
        )

    async def run(self) -> None:
        """Until the server is told to stop."""
        import uvicorn

        self._hub.opened(asyncio.get_running_loop(), self._audience)
        for line in self._sitting.notices:
            self._tell(line, "")
        self._conversation.start()
        self._listening.start()
        renewing = asyncio.create_task(self._renew())
        server = uvicorn.Server(self._config())
        telling = asyncio.create_task(self._say_where(server))
        try:
            await server.serve()
        finally:
            for task in (renewing, telling):
                task.cancel()
                with suppress(asyncio.CancelledError):
                    await task
            self._listening.stop()
            self._conversation.stop()

    def _config(self) -> uvicorn.Config:
        import uvicorn

        return uvicorn.Config(
            page_app(self._hub, self._guard, self._screen.sound_of),
            host=self._args.host,
            port=self._args.port,
            ws="websockets-sansio",
            ws_max_size=LARGEST_FRAME_BYTES,
            ws_ping_interval=5.0,
            ws_ping_timeout=10.0,
            log_level="warning",
            access_log=False,
            server_header=False,
            timeout_graceful_shutdown=1,
            ssl_certfile=self._args.certificate,
            ssl_keyfile=self._args.key,
        )

    async def _say_where(self, server: uvicorn.Server) -> None:
        while not server.started:
            await asyncio.sleep(0.05)
        port = server.servers[0].sockets[0].getsockname()[1]
        for line in self._where(port):
            print(line, flush=True)

    def _where(self, port: int) -> list[str]:
        scheme = "https" if self._args.certificate else "http"
        host = f"[{self._args.host}]" if ":" in self._args.host else self._args.host
        if self._guard.token is None:
            return [f"The page is at {scheme}://{host}:{port}/ on this machine alone. Ctrl-C ends."]
        lines = [
            f"The page is at {scheme}://{host}:{port}/?token={self._guard.token}",
            "NOTICE: other machines on this network can reach it; whoever has this link can change the incident.",
        ]
        if scheme == "http":
            lines.append("NOTICE: nothing is encrypted; microphones on other machines need https, by --certificate.")
        return lines

    async def _renew(self) -> None:
        waited_s = 0.0
        while True:
            await asyncio.sleep(EARS_TOLD_EVERY_S)
            self._audience.tell_ears()
            waited_s += EARS_TOLD_EVERY_S
            if waited_s >= RENEWED_EVERY_S:
                waited_s = 0.0
                await asyncio.to_thread(self._audience.renew)

    def _hear(self, utterance: Any) -> None:
        self._conversation.hear(utterance)
        self._audience.renew()

    def _tell(self, shown: str, said: str) -> None:
        self._screen.tell(self._sitting.clock.now_s(), shown, said)
        print(shown, file=sys.stderr)
