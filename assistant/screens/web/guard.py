"""Who may come in: takes a request's headers, gives yes or no. Loopback for everybody on this machine, else a token.

Pages of other sites are kept out by their origin, and names that point here by the host they were asked for.
"""

from __future__ import annotations

import hmac
from collections.abc import Mapping
from dataclasses import dataclass
from ipaddress import ip_address
from urllib.parse import urlsplit

COOKIE = "oxygen_assistant_token"
LOOPBACK_NAMES = ("localhost", "127.0.0.1", "::1")


@dataclass(frozen=True, slots=True, kw_only=True)
class Guard:
    """The rules of one server; `token` None: loopback only, and none needed."""

    token: str | None = None

    def knows(self, given: str | None) -> bool:
        """Whether the token is the right one; every one is, where none is needed."""
        return self.token is None or (given is not None and hmac.compare_digest(given, self.token))

    def right_host(self, host: str | None) -> bool:
        """Whether the host that was asked for may be this server: a name of loopback, or any where a token guards."""
        return self.token is not None or (_host_of(f"//{host}") in LOOPBACK_NAMES if host else False)

    def right_origin(self, origin: str | None, host: str | None) -> bool:
        """Whether the page that opens the socket came from this very server; what is no browser sends no origin."""
        if origin is None:
            return True
        return bool(host) and urlsplit(origin).netloc == host and self.right_host(host)


def _host_of(address: str) -> str | None:
    try:
        return urlsplit(address).hostname
    except ValueError:
        return None


def is_loopback(host: str) -> bool:
    """Whether an address to listen on is this machine's own."""
    if host == "localhost":
        return True
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return False


# No script, style, sound or connection but the server's own; nothing may frame the page.
HEADERS: Mapping[str, str] = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; worker-src 'self'; style-src 'self'; img-src 'self'; "
        "media-src 'self'; connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Permissions-Policy": "microphone=(self), camera=(), geolocation=()",
    "Cache-Control": "no-store",
}
