"""What every request has to pass, and what every answer carries.

Rule: a page of somebody else, in the same browser or by a name of his own that leads here, gets nothing and moves
nothing.
"""

from ipaddress import ip_address
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self';"
    " base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
    "cache-control": "no-store",
}


class Gate:
    """Wraps the application. `port`: where it listens."""

    def __init__(self, app: ASGIApp, port: int) -> None:
        self._app, self._port = app, port

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse, or let through with the headers added."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, text in HEADERS.items():
                    headers.setdefault(name, text)  # an answer may name a policy of its own
            await send(message)

        refusal = self._refusal(scope["method"], Headers(scope=scope), scope["server"][0])
        answer = PlainTextResponse(refusal, 403) if refusal else self._app
        await answer(scope, receive, with_headers)

    def _refusal(self, method: str, headers: Headers, reached: str) -> str:
        """A sentence, or nothing when all is well. `reached`: this machine's address at which the request came."""
        host = headers.get("host", "")
        if not self.is_ours(host, reached):
            return "Open the page by the address that pulldrop shows."
        from_us = (
            headers.get("origin") == f"http://{host}" and headers.get("sec-fetch-site", "same-origin") == "same-origin"
        )
        if method not in ("GET", "HEAD") and not from_us:
            return "Commands are taken from pulldrop's own page only."
        return ""

    def is_ours(self, host: str, reached: str) -> bool:
        """A name can be bent to lead here, and a number that is not where the request came is a proxy's: so ours are
        that number, and this machine's own names for itself."""
        try:
            parts = urlsplit(f"//{host}")
            name, port = parts.hostname or "", parts.port or 80
        except ValueError:
            return False
        if port != self._port or parts.netloc != host or "@" in host:
            return False
        if name == "localhost":
            return True
        try:
            address = ip_address(name)
        except ValueError:
            return False
        return address.is_loopback or address == ip_address(reached)
