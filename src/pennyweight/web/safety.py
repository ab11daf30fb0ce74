"""What keeps the page's door shut to everyone but the person at this machine.

The page answers on the loopback address only. A web site that is open in the same
browser could still try to reach it, in two ways, and each has its lock:

- by a name of its own that it points at 127.0.0.1 (DNS rebinding): a request whose
  Host is not the address that we listen on is turned away;
- by sending a form from its own page (cross-site request forgery): a request that
  may write must come from our own page by its Origin, and must carry a word that
  only our own page knows.

No script or style is taken from inside a page or from elsewhere, so that nothing
that somebody typed into a record can run or call out.

References
----------
OWASP cheat sheets "Cross-Site Request Forgery Prevention" (origin check and
token) and "Content Security Policy"; docs/sources.md, entry "page safety".
"""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from pennyweight.web.faults import write_fault

#: Names of this machine as itself, as a browser writes them.
OWN_NAMES = frozenset({"127.0.0.1", "localhost", "::1"})

READING = frozenset({"GET", "HEAD", "OPTIONS"})

#: Sent with every response.
HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; "
        "img-src 'self' data: blob:; font-src 'self'; connect-src 'self'; "
        "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=(self)",
}


#: The built page is asked for with its version, so that a browser may keep it.
KEPT = "max-age=604800"


def new_token() -> str:
    """Return the word that our own pages send with every write, until we stop."""
    return secrets.token_urlsafe(24)


def own_name(authority: str) -> bool:
    """Tell whether a Host or the address part of an Origin names this machine."""
    try:
        return urlsplit(f"//{authority}").hostname in OWN_NAMES
    except ValueError:
        return False


@dataclass
class Doorkeeper:
    """Middleware that turns away what did not come from our own page.

    Attributes
    ----------
    app : ASGI application
        What lies behind the door.
    """

    app: ASGIApp

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or answer it at the door."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
                built = scope["path"].startswith("/static/")
                headers.setdefault("Cache-Control", KEPT if built else "no-store")
            await send(message)

        why = self.refuse(scope["method"], Headers(scope=scope))
        if why is None:
            await self.app(scope, receive, send_with_headers)
        else:
            answer = write_fault(403, why, wants_json=False)
            await answer(scope, receive, send_with_headers)

    def refuse(self, method: str, headers: Headers) -> str | None:
        """Return why a request is turned away, or None to let it in."""
        host = headers.get("host", "")
        if not own_name(host):
            return (
                f"This page was asked for under the name {host!r}; it only answers to "
                "127.0.0.1. Open the address that the program printed."
            )
        if method in READING:
            return None
        origin = headers.get("origin")
        if origin is not None and origin != f"http://{host}":
            return (
                f"This request came from {origin!r}, not from this page. "
                "Nothing was changed."
            )
        if origin is None and headers.get("sec-fetch-site") not in {
            None,
            "same-origin",
        }:
            return "This request came from another site. Nothing was changed."
        return None
