"""What every request must pass, and what every answer carries.

The pages answer on this computer only. That alone does not keep other sites out of them: a page somewhere
else can make the browser send requests here. So the ``Host`` must be one of ours (a name that was pointed at
this computer is not), and whatever changes something must come from our own pages: ``Sec-Fetch-Site`` says
so, or for older browsers ``Origin``. A client without either header is no browser and carries no user's
cookies.
"""

from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

HOSTS = ("127.0.0.1", "localhost", "[::1]")
LARGEST_FORM = 64 * 1024
UPLOADS = "/bay/send"
"""Where files come from phones, which are larger than forms."""
LARGEST_UPLOAD = 128 * 1024 * 1024
_SAFE = frozenset({"GET", "HEAD", "OPTIONS"})
_ANSWER_HEADERS = {
    "content-security-policy": (
        "default-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'; object-src 'none'"
    ),
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
}


def from_our_own_pages(method: str, scheme: str, headers: Headers) -> bool:
    """Whether a request may change something: a safe method, our own pages, or no browser at all."""
    if method in _SAFE:
        return True
    site = headers.get("sec-fetch-site")
    if site is not None:
        return site in {"same-origin", "none"}
    origin = headers.get("origin")
    if origin is None:
        return True
    there = urlsplit(origin)
    return (there.scheme, there.netloc.lower()) == (scheme, headers.get("host", "").lower())


def _refusal(scope: Scope, headers: Headers) -> PlainTextResponse | None:
    method = str(scope["method"])
    if not from_our_own_pages(method, str(scope.get("scheme", "http")), headers):
        return PlainTextResponse("This came from another site and was refused; nothing was changed.", 403)
    if method in _SAFE:
        return None
    length = headers.get("content-length", "")
    if not length.isdecimal():
        return PlainTextResponse("A form must say its length; nothing was changed.", 411)
    if int(length) > (LARGEST_UPLOAD if scope["path"] == UPLOADS else LARGEST_FORM):
        return PlainTextResponse("This is more than is taken at once; nothing was changed.", 413)
    return None


class Guard:
    """The middleware that does both; ``Host`` is checked by Starlette's own behind it."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse the request or pass it on, adding headers to the answer."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in _ANSWER_HEADERS.items():
                    headers[name] = value
                headers.setdefault("cache-control", "no-store")
            await send(message)

        answer = _refusal(scope, Headers(scope=scope))
        await (answer or self.app)(scope, receive, send_with_headers)
