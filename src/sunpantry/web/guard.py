"""What stands before every request: who may ask, how much, and what a browser may do."""

from __future__ import annotations

import hmac
import ipaddress
import time
from collections import OrderedDict
from collections.abc import Mapping
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request, cookie_parser
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from sunpantry.web.counts import whole_number
from sunpantry.web.faults import fault_response
from sunpantry.web.settings import Settings, is_loopback

SAFE_METHODS = frozenset({"GET", "HEAD", "OPTIONS"})
TOKEN_COOKIE = "sunpantry_token"  # noqa: S105 — the name of the cookie, not a secret
UNLOCK_PATH = "/unlock"
WEATHER_PATH = "/weather/upload"
# Choices of appearance are kept in the reader's own browser: they change no design.
OPEN_PATHS = frozenset({UNLOCK_PATH, "/preferences"})

POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "font-src 'self'",
        "connect-src 'self'",
        "manifest-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
HEADERS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
    "x-frame-options": "DENY",
}
_KEPT_ADDRESSES = 4096


class TooLargeError(Exception):
    """The body of a request outgrew the limit while it was read."""


class Guard:
    """Checks in front of the page.

    Parameters
    ----------
    app : ASGI application
        What is guarded.
    settings : Settings
        Host names, token and limits.
    """

    def __init__(self, app: ASGIApp, settings: Settings) -> None:
        self.app = app
        self.settings = settings
        self.meter = Meter(settings.writes_per_minute)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or say why not."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)

        async def send_safely(message: Message) -> None:
            if message["type"] == "http.response.start":
                out = MutableHeaders(scope=message)
                for name, value in HEADERS.items():
                    out.setdefault(name, value)
                out.setdefault("cache-control", "no-store")
            await send(message)

        fault = self._fault(scope, headers)
        if fault is not None:
            status, code, words = fault
            response = fault_response(Request(scope), status, code, words)
            await response(scope, receive, send_safely)
            return
        await self._limited(scope, receive, send_safely)

    async def _limited(self, scope: Scope, receive: Receive, send: Send) -> None:
        taken, started = 0, False
        limit = self._most_bytes(scope)

        async def counted() -> Message:
            nonlocal taken
            message = await receive()
            taken += len(message.get("body", b""))
            if taken > limit:
                raise TooLargeError
            return message

        async def noted(message: Message) -> None:
            nonlocal started
            started = started or message["type"] == "http.response.start"
            await send(message)

        try:
            await self.app(scope, counted, noted)
        except TooLargeError:
            if not started:
                words = f"at most {limit} bytes can be sent"
                response = fault_response(Request(scope), 413, "too_large", words)
                await response(scope, receive, send)

    def _fault(self, scope: Scope, headers: Headers) -> tuple[int, str, str] | None:
        if not self._host_known(headers.get("host", "")):
            return 421, "unknown_host", "this page does not go by that name"
        if whole_number(headers.get("content-length", "0"), self._most_bytes(scope)) is None:
            return 413, "too_large", f"at most {self._most_bytes(scope)} bytes can be sent"
        if scope["method"] in SAFE_METHODS:
            return None
        if not same_origin(headers):
            return 403, "cross_site", "changes are only taken from the page itself"
        return self._writing_fault(scope, headers)

    def _most_bytes(self, scope: Scope) -> int:
        """Weather files are larger than anything else that is sent."""
        sent = scope["method"] == "POST" and scope["path"].endswith(WEATHER_PATH)
        return self.settings.max_upload_bytes if sent else self.settings.max_body_bytes

    def _writing_fault(self, scope: Scope, headers: Headers) -> tuple[int, str, str] | None:
        if self.settings.token is None:
            return None
        client = scope["client"][0] if scope.get("client") else ""
        if not self.meter.allows(client):
            return 429, "too_many", "too many changes in a minute: wait a little"
        if scope["path"] not in OPEN_PATHS and not self._token_given(headers):
            return 401, "token_needed", "reading is open, changing needs the token: see /unlock"
        return None

    def _token_given(self, headers: Headers) -> bool:
        wanted = (self.settings.token or "").encode()
        bearer = headers.get("authorization", "").removeprefix("Bearer ")
        cookies = cookie_parser(headers.get("cookie", ""))
        return hmac.compare_digest(wanted, bearer.encode()) or unlocked(self.settings, cookies)

    def _host_known(self, host: str) -> bool:
        """A name only this machine, or the person who started the page, gave it."""
        try:
            name = urlsplit(f"//{host}").hostname or ""
        except ValueError:
            return False
        if is_loopback(name) or name in self.settings.names:
            return True
        if self.settings.on_loopback:
            return False
        return name == self.settings.host or _is_address(name)


class Meter:
    """How often an address may write: so many a minute, spread evenly, with a small reserve."""

    def __init__(self, per_minute: int) -> None:
        self.per_minute = per_minute
        self._left: OrderedDict[str, tuple[float, float]] = OrderedDict()

    def allows(self, address: str, now_s: float | None = None) -> bool:
        """Count one write, and say whether it may go ahead.

        Parameters
        ----------
        address : str
            Of the sender.
        now_s : float, optional
            Moment on a steady clock [s].
        """
        now = time.monotonic() if now_s is None else now_s
        left, then = self._left.pop(address, (float(self.per_minute), now))
        left = min(self.per_minute, left + (now - then) * self.per_minute / 60.0)
        allowed = left >= 1.0
        self._left[address] = (left - 1.0 if allowed else left, now)
        while len(self._left) > _KEPT_ADDRESSES:
            self._left.popitem(last=False)
        return allowed


def unlocked(settings: Settings, cookies: Mapping[str, str]) -> bool:
    """Whether a reader may change things: no token is asked for, or the browser keeps it.

    Parameters
    ----------
    settings : Settings
        With the token.
    cookies : mapping
        Of the request.
    """
    if settings.token is None:
        return True
    given = cookies.get(TOKEN_COOKIE, "")
    return hmac.compare_digest(settings.token.encode(), given.encode())


def same_origin(headers: Headers) -> bool:
    """Whether a browser says that its own page sent this; programs send neither header."""
    site = headers.get("sec-fetch-site")
    if site is not None:
        return site in {"same-origin", "none"}
    origin = headers.get("origin")
    return origin is None or urlsplit(origin).netloc == headers.get("host", "")


def _is_address(name: str) -> bool:
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True
