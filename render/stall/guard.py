"""Who may come in: host, origin, the address' token, sizes and rates; and what every answer says."""

from __future__ import annotations

import hashlib
import hmac
import secrets
import time
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field
from http.cookies import SimpleCookie
from typing import Any, Final
from urllib.parse import parse_qs, urlencode

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

MOST_BYTES: Final = 8192
"""Of a request's body: some hundred times what a name needs."""
MOST_URL: Final = 1024

HEADERS: Final = {
    "content-security-policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self';"
        " form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
    ),
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=(), payment=()",
    "cache-control": "no-store",
}
"""On every answer. Nobody sees the page of the person before: nothing is stored."""

VISIT, DOOR = "visit", "door"
"""Cookies: a customer's visit, which forms are bound to; and that this device came with the token."""


@dataclass(slots=True)
class Bucket:
    """So many requests at once, and so many a second after that; each source by itself."""

    rate: float
    most: float
    clock: Callable[[], float] = time.monotonic
    _left: OrderedDict[str, tuple[float, float]] = field(default_factory=OrderedDict)

    def takes(self, source: str) -> bool:
        """Whether one more is allowed now; if so it is counted."""
        now = self.clock()
        left, then = self._left.pop(source, (self.most, now))
        left = min(self.most, left + (now - then) * self.rate)
        allowed = left >= 1
        self._left[source] = (left - 1 if allowed else left, now)
        if len(self._left) > 4096:
            self._left.popitem(last=False)
        return allowed


@dataclass(frozen=True, slots=True)
class Door:
    """How the stall is reached.

    Attributes:
        hosts: what a request's Host may be, with the port.
        token: what the address of other devices must carry once; empty where there are none.
        secret: signs what forms carry.
        tablets: the whole address that lets other devices in; empty where there are none.
    """

    hosts: frozenset[str]
    token: str = ""
    secret: bytes = field(default_factory=lambda: secrets.token_bytes(32), repr=False)
    tablets: str = field(default="", repr=False)

    def sign(self, purpose: str, text: str) -> str:
        """HMAC-SHA-256 of a text for one purpose, in hexadecimal."""
        return hmac.new(self.secret, f"{purpose}\0{text}".encode(), hashlib.sha256).hexdigest()

    def signed(self, purpose: str, text: str, signature: str) -> bool:
        """Whether the signature is ours, compared in constant time."""
        return hmac.compare_digest(self.sign(purpose, text).encode(), signature.encode())


class Guard:
    """Stands before the application."""

    def __init__(self, app: ASGIApp, door: Door, rates: Bucket) -> None:
        self._app, self._door, self._rates = app, door, rates

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """See the ASGI specification."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        if scope["type"] != "http":
            return
        refused, cookies = self._refuse(scope)

        async def answer(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    headers.setdefault(name, value)
                for cookie in cookies:
                    headers.append("set-cookie", cookie)
            await send(message)

        if refused is not None:
            await refused(scope, receive, answer)
            return
        body = await _whole(receive, scope)
        if body is None:
            await PlainTextResponse("too much at once", 413)(scope, receive, answer)
            return
        await self._app(scope, _replay(body, receive), answer)

    def _refuse(self, scope: Scope) -> tuple[Response | None, list[str]]:
        """Why the request is turned away, and cookies to set."""
        headers = Headers(scope=scope)
        if headers.get("host", "").lower() not in self._door.hosts:
            return PlainTextResponse("this stall has another address", 421), []
        if len(scope.get("raw_path", b"")) + len(scope["query_string"]) > MOST_URL:
            return PlainTextResponse("too long an address", 414), []
        if not self._rates.takes(source_of(scope)):
            return PlainTextResponse("one moment, please", 429, {"retry-after": "2"}), []
        if scope["method"] not in ("GET", "HEAD") and not same_origin(headers):
            return PlainTextResponse("sent from elsewhere", 403), []
        jar = cookies_of(headers)
        turned = self._at_the_door(scope, jar)
        if turned is not None:
            return turned, []
        visit = jar.get(VISIT, "")
        if len(visit) != 32 or not visit.isalnum():
            visit = secrets.token_hex(16)
            scope["visit"] = visit
            return None, [f"{VISIT}={visit}; Path=/; HttpOnly; SameSite=Strict"]
        scope["visit"] = visit
        return None, []

    def _at_the_door(self, scope: Scope, jar: dict[str, str]) -> Response | None:
        """On a network: whoever did not come with the token stays outside."""
        if not self._door.token:
            return None
        query = parse_qs(scope["query_string"].decode("latin-1"))
        token = query.pop("t", [""])[0]
        mark = self._door.sign("door", self._door.token)
        if token and hmac.compare_digest(token.encode(), self._door.token.encode()):
            rest = f"?{urlencode(query, doseq=True)}" if query else ""
            response = RedirectResponse(scope["path"].replace("//", "/") + rest, 303)
            response.set_cookie(DOOR, mark, httponly=True, samesite="lax", path="/")
            return response
        if hmac.compare_digest(jar.get(DOOR, "").encode(), mark.encode()):
            return None
        return PlainTextResponse("Please scan the code on the table.", 403)


def same_origin(headers: Headers) -> bool:
    """Whether a page of ours sent this: by Origin, or where a browser sends none, by Sec-Fetch-Site."""
    origin = headers.get("origin")
    if origin is None:
        return headers.get("sec-fetch-site") == "same-origin"
    scheme, _, host = origin.partition("://")
    return scheme == "http" and host.lower() == headers.get("host", "").lower()


def source_of(scope: Scope) -> str:
    """Whom a request comes from."""
    client = scope.get("client")
    return str(client[0]) if client else ""


def cookies_of(headers: Headers) -> dict[str, str]:
    """The cookies of a request; none if they make no sense."""
    jar: SimpleCookie = SimpleCookie()
    try:
        jar.load(headers.get("cookie", "")[:4096])
    except Exception:  # whatever it is, it is no cookie of ours
        return {}
    return {name: morsel.value for name, morsel in jar.items()}


async def _whole(receive: Receive, scope: Scope) -> bytes | None:
    """The body; None if it is too large, however its length was given."""
    if scope["method"] in ("GET", "HEAD"):
        return b""
    declared = Headers(scope=scope).get("content-length", "0")
    if not declared.isdecimal() or int(declared) > MOST_BYTES:
        return None
    body = bytearray()
    while True:
        message = await receive()
        if message["type"] != "http.request":
            return None
        body += message.get("body", b"")
        if len(body) > MOST_BYTES:
            return None
        if not message.get("more_body"):
            return bytes(body)


def _replay(body: bytes, receive: Receive) -> Receive:
    given = False

    async def again() -> Any:
        nonlocal given
        if given:
            return await receive()
        given = True
        return {"type": "http.request", "body": body, "more_body": False}

    return again
