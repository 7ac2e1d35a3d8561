"""What stands before every page: which host was asked for, who writes, how much, and what may load.

Pages are served to a browser on the bench, maybe over the shop's own network. A name that points at
this machine from elsewhere is refused (the Host header), and so is a write from a page that is not
ours (Origin and Sec-Fetch-Site).
"""

from __future__ import annotations

import ipaddress
import logging
from collections.abc import Callable, Iterable
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

_log = logging.getLogger(__name__)

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "connect-src 'self'; font-src 'self'; form-action 'self'; base-uri 'none'; "
    "frame-ancestors 'none'"
)

READING_LIMIT = 64 * 1024
FORM_LIMIT = 2 * 1024 * 1024
FILE_LIMIT = 64 * 1024 * 1024
"""Bytes of a body: a reading, a form with an engine file, a form with a picture or a record."""

_BODIES = ("application/json", "application/x-www-form-urlencoded", "multipart/form-data")
_HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    # 'no-referrer' would make the Origin of our own forms 'null'.
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
}

_KEPT = (("/static/fonts", "public, max-age=31536000, immutable"), ("/static", "no-cache"))
"""How long a browser may keep what lies under an address; everything else not at all."""


class _TooLongError(Exception):
    """The body is longer than it may be."""


class Guard:
    """Wraps the pages, and answers itself what must not reach them, or what failed in them.

    :param failed: makes the answer to a failure of ours
    """

    def __init__(
        self, app: ASGIApp, allowed_hosts: Iterable[str], failed: Callable[[Request], Response]
    ) -> None:
        self._app = app
        self._failed = failed
        self._names = {name.lower() for name in allowed_hosts}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Check, then pass on with a bound on the body and our headers on the answer."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        refusal = self._refusal(scope["method"], headers)
        if refusal is not None:
            await _refuse(*refusal, headers)(scope, receive, _with_headers(send, ""))
            return
        limit = limit_of(headers.get("content-type", ""))
        started = False

        async def watched(message: Message) -> None:
            nonlocal started
            started = started or message["type"] == "http.response.start"
            await _with_headers(send, scope["path"])(message)

        try:
            await self._app(scope, _bounded(receive, limit), watched)
        except _TooLongError:
            if started:
                raise
            sentence = f"What was sent is longer than {limit // 1024} KB."
            await _refuse(413, sentence, headers)(scope, receive, _with_headers(send, ""))
        except Exception:
            _log.exception("%s %s failed", scope["method"], scope["path"])
            if started:
                raise
            await self._failed(Request(scope))(scope, receive, _with_headers(send, ""))

    def _refusal(self, method: str, headers: Headers) -> tuple[int, str] | None:
        host = headers.get("host", "")
        if not self._is_ours(host):
            return 421, f"This program does not answer to the name '{host[:80]}'."
        if method in {"GET", "HEAD", "OPTIONS"}:
            return None
        site, origin = headers.get("sec-fetch-site"), headers.get("origin")
        if site not in {None, "same-origin", "none"}:
            return 403, "A page from elsewhere may not write here."
        if origin is not None and urlsplit(origin).netloc.lower() != host.lower():
            return 403, "A page from elsewhere may not write here."
        kind = headers.get("content-type", "").partition(";")[0].strip().lower()
        if kind not in _BODIES:
            return 415, f"A body of the kind '{kind[:60]}' cannot be read here."
        length = headers.get("content-length", "0")
        limit = limit_of(kind)
        if not length.isdigit() or int(length) > limit:
            return 413, f"What was sent is longer than {limit // 1024} KB."
        return None

    def _is_ours(self, host: str) -> bool:
        """Take our names, and plain addresses: a foreign page cannot come by an address."""
        try:
            name = urlsplit(f"//{host}").hostname or ""
        except ValueError:
            return False
        if name.lower() in self._names:
            return True
        try:
            ipaddress.ip_address(name)
        except ValueError:
            return False
        return True


def limit_of(content_type: str) -> int:
    """Return how many bytes a body of a kind may have."""
    kind = content_type.partition(";")[0].strip().lower()
    if kind == "application/json":
        return READING_LIMIT
    return FILE_LIMIT if kind == "multipart/form-data" else FORM_LIMIT


def _refuse(status: int, sentence: str, headers: Headers) -> JSONResponse | PlainTextResponse:
    if "application/json" in headers.get("accept", ""):
        body = {"error": "refused", "sentence": sentence, "hint": ""}
        return JSONResponse(body, status)
    return PlainTextResponse(sentence, status)


def _bounded(receive: Receive, limit: int) -> Receive:
    taken = 0

    async def bounded() -> Message:
        nonlocal taken
        message = await receive()
        taken += len(message.get("body", b""))
        if taken > limit:
            raise _TooLongError
        return message

    return bounded


def _with_headers(send: Send, path: str) -> Send:
    kept = next((rule for start, rule in _KEPT if path.startswith(start)), "no-store")

    async def sender(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in _HEADERS.items():
                headers[name] = value
            headers.setdefault("cache-control", kept)
        await send(message)

    return sender
