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
    """Wraps the application. `port`: where it listens; `lan`: other machines may come by our number."""

    def __init__(self, app: ASGIApp, port: int, lan: bool) -> None:
        self._app, self._port, self._lan = app, port, lan

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

        refusal = self._refusal(scope["method"], Headers(scope=scope))
        answer = PlainTextResponse(refusal, 403) if refusal else self._app
        await answer(scope, receive, with_headers)

    def _refusal(self, method: str, headers: Headers) -> str:
        """A sentence, or nothing when all is well."""
        host = headers.get("host", "")
        if not self.is_ours(host):
            return f"Open the page by the address that pulldrop shows, not as '{host}'."
        if method not in ("GET", "HEAD") and headers.get("origin") != f"http://{host}":
            return "Commands are taken from pulldrop's own page only."
        return ""

    def is_ours(self, host: str) -> bool:
        """A numeric address cannot be bent to lead here, as a name can; so no name but localhost is ours."""
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
        return address.is_loopback or self._lan
