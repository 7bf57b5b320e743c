"""Who may come in: one wall around everything that is served, pages, files, API and sockets alike.

    door = Door(port=8321, sessions=Sessions(path), lan=False)
    app = Guard(app, door)          # outermost; run uvicorn with proxy_headers=False, or a header could name the peer
    print(door.key.url)             # the address to open: its key works once, then door.key.tell is given the next

In this order, for each request and each socket:

1. the peer: this computer alone, or with `lan` also devices of the local network; nobody from elsewhere;
2. the Host header: a name of this computer's own, or literally the address at which the connection came in. A foreign
   name that was made to point here (rebinding) is refused;
3. the Origin header, where something could change and for every socket: our own pages, or a program with its key;
4. the size of what is sent;
5. the session: a device that was let in. Others see the page that lets them in, and nothing else.

A device that is shut out loses its open connections at once.
"""

import asyncio
import ipaddress
import json
import socket
from collections.abc import Awaitable, Callable, Iterable, MutableMapping
from dataclasses import dataclass, field
from http import HTTPStatus
from typing import Any
from urllib.parse import parse_qsl, urlsplit

from scribeline.web import doorstep
from scribeline.web.headers import NONCE, new_nonce, page_policy, plain_policy, put_nonces_into_pages, with_security
from scribeline.web.pairing import OpeningKey, Pairing
from scribeline.web.sessions import Device, Sessions
from scribeline.web.uploads import LARGEST_BYTES

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

DEVICE = "scribeline.device"  # key in the ASGI scope: the Device that asks
_SAFE = {"GET", "HEAD", "OPTIONS"}
_LOOPBACK_NAMES = ("127.0.0.1", "localhost", "[::1]")
LARGEST_FORM_BYTES = 8 * 1024**2  # an engine record has at most 4 MiB
_MULTIPART_BYTES = 1024**2  # around a file
_COOKIE_S = 400 * 24 * 3600  # the longest that browsers accept; the session ends earlier when it is not used
_CLOSING_S = 5.0


@dataclass
class Door:
    """What the guard goes by.

    port : the port that is listened on
    sessions : the devices that were let in
    lan : whether devices of the local network may come, after pairing
    """

    port: int
    sessions: Sessions
    lan: bool = False
    pairing: Pairing = field(default_factory=Pairing)
    key: OpeningKey = field(init=False)

    def __post_init__(self) -> None:
        self.key = OpeningKey(f"http://127.0.0.1:{self.port}")

    @property
    def cookie(self) -> str:
        """Name of the cookie. Browsers do not tell ports of one host apart, so the port is in the name."""
        return f"scribeline-{self.port}"

    def lan_urls(self) -> list[str]:
        """Addresses at which devices of the network find this computer, the likeliest first; none without `lan`."""
        return [f"http://{address}:{self.port}" for address in own_addresses()] if self.lan else []


def own_addresses() -> list[str]:
    """This computer's addresses in local networks, the one that it uses to reach others first. Sends nothing."""
    found: dict[str, None] = {}
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # RFC 5737: an address for documentation; a datagram socket sends nothing
            found[probe.getsockname()[0]] = None
        except OSError:
            pass
    try:
        for info in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET):
            found[str(info[4][0])] = None
    except OSError:
        pass
    return [text for text in found if (ip := _ip(text)) and not ip.is_loopback and not ip.is_global]


def device_of(scope: Scope) -> Device | None:
    """The device from which a request came that the guard let through."""
    found: Device | None = scope.get(DEVICE)
    return found


@dataclass(frozen=True)
class _Refusal:
    status: int
    title: str
    sentence: str


class Guard:
    """ASGI middleware around the whole application."""

    def __init__(self, app: App, door: Door) -> None:
        self.app, self.door = app, door
        self._open: dict[str, set[asyncio.Event]] = {}
        door.sessions.on_revoked(self._shut)
        put_nonces_into_pages()

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, refuse, or pass on."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] not in ("http", "websocket"):
            return
        asked = _Asked(scope)
        refusal = self._refused(asked)
        device = None if refusal else self._device(asked)
        if scope["type"] == "websocket":
            if device is None:
                await send({"type": "websocket.close", "code": 1008, "reason": "not let in"})
                return
        elif refusal is not None:
            await _refuse(asked, refusal, send)
            return
        elif await self._answered_at_the_door(asked, device, receive, send):
            return
        assert device is not None
        await self._pass_on(asked, device, receive, send)

    # --- what is looked at

    def _refused(self, asked: "_Asked") -> _Refusal | None:
        """Why nobody who asks so is answered, let in or not."""
        peer = _ip(asked.peer)
        if peer is None or not (peer.is_loopback or (self.door.lan and not peer.is_global)):
            return _Refusal(403, "Not from here", "This notebook is open to its own computer only.")
        if not self._is_our_name(asked):
            return _Refusal(
                421,
                "Not under this name",
                "Nothing is served under this name. Open the address that the computer shows, exactly as it stands.",
            )
        asked.is_local = peer.is_loopback
        if (asked.is_socket or asked.method not in _SAFE) and not asked.bearer and not asked.is_from_our_page:
            return _Refusal(
                403, "Not from this page", "This was sent from a page that is not scribeline's. Nothing was changed."
            )
        if asked.method not in _SAFE and not asked.is_socket:
            return self._too_large(asked)
        return None

    def _is_our_name(self, asked: "_Asked") -> bool:
        host, _, port = asked.host.rpartition(":")
        if (host, port) == ("", "") or not port.isdecimal():
            host, port = asked.host, "80"
        if int(port) != self.door.port:
            return False
        here = _ip(asked.server)
        if host in _LOOPBACK_NAMES:
            return here is not None and here.is_loopback
        return self.door.lan and here is not None and _ip(host.strip("[]")) == here

    def _too_large(self, asked: "_Asked") -> _Refusal | None:
        most = LARGEST_FORM_BYTES
        if asked.is_upload:
            most = LARGEST_BYTES + _MULTIPART_BYTES
        length = asked.header(b"content-length")
        if asked.header(b"transfer-encoding") or (length and not length.isdecimal()):
            return _Refusal(411, "How large?", "What is sent must say how large it is. Nothing was kept.")
        if int(length or 0) > most:
            return _Refusal(
                413, "Too large", f"What was sent has {length} bytes; at most {most} are accepted. Nothing was kept."
            )
        return None

    def _device(self, asked: "_Asked") -> Device | None:
        sessions = self.door.sessions
        if asked.bearer:
            found = sessions.device_of(asked.bearer)
            return found if found is not None and found.kind == "program" else None
        for token in asked.cookies(self.door.cookie):
            found = sessions.device_of(token)
            if found is not None and found.kind == ("computer" if asked.is_local else "phone"):
                return found
        return None

    # --- the doorstep

    async def _answered_at_the_door(self, asked: "_Asked", device: Device | None, receive: Receive, send: Send) -> bool:
        """Answer what is asked of the guard itself; whether that was all."""
        if asked.path == "/open" and asked.is_local and asked.method == "GET":
            await self._open_by_key(asked, device, send)
        elif device is not None and asked.path == "/pair":
            await _redirect(asked, "/", send)
        elif device is not None:
            return False
        elif asked.path == "/pair" and not asked.is_local and asked.method in ("GET", "POST"):
            await self._pair(asked, receive, send)
        elif not asked.wants_a_page:
            await _refuse(asked, _Refusal(401, "Not let in", "This device or program was not let in."), send)
        elif asked.is_local:
            await _page(asked, 401, doorstep.not_let_in_page(asked.nonce), send)
        else:
            await _redirect(asked, "/pair", send)
        return True

    async def _open_by_key(self, asked: "_Asked", device: Device | None, send: Send) -> None:
        query = dict(parse_qsl(asked.query, max_num_fields=20))
        to = query.get("to", "/")
        if not to.startswith("/") or to.startswith(("//", "/\\")) or not to.isprintable() or not to.isascii():
            to = "/"
        if device is not None:
            await _redirect(asked, to, send)
        elif self.door.key.take(query.get("key", "")):
            _, token = self.door.sessions.admit("browser on this computer", "computer")
            await _redirect(asked, to, send, cookie=self._cookie(token))
        else:
            told = "This key was used before, or is of an earlier start."
            await _page(asked, 401, doorstep.not_let_in_page(asked.nonce, told), send)

    async def _pair(self, asked: "_Asked", receive: Receive, send: Send) -> None:
        if asked.method == "GET":
            code = dict(parse_qsl(asked.query, max_num_fields=20)).get("code", "")[:12]
            await _page(asked, 200, doorstep.pairing_page(asked.nonce, code), send)
            return
        form = dict(parse_qsl(await _body(receive, 4096), max_num_fields=20))
        code, name = form.get("code", "")[:40], form.get("name", "")[:100]
        told = self.door.pairing.take(code, asked.peer)
        if told is None:
            _, token = self.door.sessions.admit(name or "phone", "phone")
            await _redirect(asked, "/", send, cookie=self._cookie(token))
        else:
            await _page(asked, 403, doorstep.pairing_page(asked.nonce, "", name, told), send)

    def _cookie(self, token: str) -> str:
        return f"{self.door.cookie}={token}; Path=/; Max-Age={_COOKIE_S}; HttpOnly; SameSite=Strict"

    # --- through the door

    async def _pass_on(self, asked: "_Asked", device: Device, receive: Receive, send: Send) -> None:
        """Let the application answer, for as long as the device is let in."""
        scope = asked.scope_for_the_app(device)
        policy = page_policy(asked.nonce, asked.host)

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                message = {**message, "headers": with_security(list(message.get("headers", [])), policy)}
            await send(message)

        shut = asyncio.Event()
        self._open.setdefault(device.id, set()).add(shut)
        answering = asyncio.ensure_future(self.app(scope, receive, send_with_headers))
        waiting = asyncio.ensure_future(shut.wait())
        try:
            await asyncio.wait({answering, waiting}, return_when=asyncio.FIRST_COMPLETED)
            if not answering.done() and asked.is_socket:
                await send({"type": "websocket.close", "code": 1008, "reason": "shut out"})
                await asyncio.wait({answering}, timeout=_CLOSING_S)  # it learns of the end and tidies up
            if answering.done():
                _unless_it_left(answering)
        finally:
            answering.cancel()
            waiting.cancel()
            self._open[device.id].discard(shut)
            if not self._open[device.id]:
                del self._open[device.id]

    def _shut(self, device_id: str) -> None:
        for event in self._open.get(device_id, ()):
            event.set()


def _unless_it_left(answering: "asyncio.Future[None]") -> None:
    """The outcome of answering. A browser that leaves a page before its pictures are drawn is no fault of anything."""
    try:
        answering.result()
    except RuntimeError as error:
        if str(error) != "No response returned.":  # starlette's words for it
            raise


class _Asked:
    """A request as the guard reads it. Headers that speak for other machines are not looked at and not passed on."""

    def __init__(self, scope: Scope) -> None:
        self._scope = scope
        self._headers: list[tuple[bytes, bytes]] = list(scope.get("headers", []))
        self.is_socket = scope["type"] == "websocket"
        self.method = "GET" if self.is_socket else str(scope["method"]).upper()
        self.path = str(scope["path"])
        self.query = bytes(scope.get("query_string", b"")).decode("latin-1")
        self.peer = str((scope.get("client") or ("", 0))[0])
        self.server = str((scope.get("server") or ("", 0))[0])
        self.is_local = False  # until the peer was looked at
        self.nonce = new_nonce()
        hosts = [value for name, value in self._headers if name == b"host"]
        self.host = hosts[0].decode("latin-1").lower() if len(hosts) == 1 else ""

    def header(self, name: bytes) -> str:
        return next((value.decode("latin-1") for key, value in self._headers if key == name), "")

    @property
    def bearer(self) -> str:
        kind, _, token = self.header(b"authorization").partition(" ")
        return token.strip() if kind.lower() == "bearer" else ""

    @property
    def is_from_our_page(self) -> bool:
        """A browser says where a request comes from with Origin, or, in some cases instead, with Sec-Fetch-Site."""
        origin = self.header(b"origin")
        if origin:
            parts = urlsplit(origin)
            return parts.scheme == "http" and parts.netloc.lower() == self.host
        return not self.is_socket and self.header(b"sec-fetch-site") == "same-origin"

    @property
    def is_api(self) -> bool:
        return self.path.startswith("/api/")

    @property
    def is_upload(self) -> bool:
        if self.path.startswith("/_nicegui/"):
            return "/upload/" in self.path
        return self.path == "/incoming" or self.path.endswith("/files")

    @property
    def wants_a_page(self) -> bool:
        return self.method == "GET" and not self.is_api and "text/html" in self.header(b"accept")

    def cookies(self, name: str) -> Iterable[str]:
        """Values of the cookies of this name; a few at most, so that nobody makes us look through thousands."""
        pairs = [pair.strip().partition("=") for pair in self.header(b"cookie").split(";")]
        return [value.strip() for key, _, value in pairs if key.strip() == name][:4]

    def scope_for_the_app(self, device: Device) -> Scope:
        headers = [pair for pair in self._headers if not pair[0].startswith((b"x-forwarded", b"forwarded"))]
        return {**self._scope, "headers": headers, DEVICE: device, NONCE: self.nonce}


def _ip(text: str) -> ipaddress.IPv4Address | ipaddress.IPv6Address | None:
    try:
        found = ipaddress.ip_address(text.partition("%")[0])
    except ValueError:
        return None
    mapped = getattr(found, "ipv4_mapped", None)
    return mapped or found


async def _body(receive: Receive, most: int) -> str:
    """What was sent, up to a size; beyond it, nothing."""
    parts = bytearray()
    while True:
        message = await receive()
        if message["type"] != "http.request":
            return ""
        parts += message.get("body", b"")
        if len(parts) > most:
            return ""
        if not message.get("more_body", False):
            return parts.decode("utf-8", "replace")


async def _send(
    asked: _Asked, status: int, kind: str, content: bytes, send: Send, *headers: tuple[bytes, bytes]
) -> None:
    own = [(b"content-type", kind.encode()), (b"content-length", str(len(content)).encode()), *headers]
    all_headers = with_security(own, plain_policy(asked.nonce))
    await send({"type": "http.response.start", "status": status, "headers": all_headers})
    await send({"type": "http.response.body", "body": b"" if asked.method == "HEAD" else content})


async def _page(asked: _Asked, status: int, content: bytes, send: Send) -> None:
    await _send(asked, status, "text/html; charset=utf-8", content, send)


async def _redirect(asked: _Asked, to: str, send: Send, cookie: str = "") -> None:
    headers = [(b"location", to.encode("ascii"))]
    if cookie:
        headers.append((b"set-cookie", cookie.encode("ascii")))
    await _send(asked, 303, "text/plain", b"", send, *headers)


async def _refuse(asked: _Asked, refusal: _Refusal, send: Send) -> None:
    """Refuse in the form that whoever asks can read: a page, or a problem document (RFC 9457)."""
    if asked.wants_a_page:
        content = doorstep.refused_page(asked.nonce, refusal.title, refusal.sentence)
        await _page(asked, refusal.status, content, send)
        return
    problem = {
        "type": "about:blank",
        "title": HTTPStatus(refusal.status).phrase,
        "status": refusal.status,
        "detail": refusal.sentence,
    }
    await _send(asked, refusal.status, "application/problem+json", json.dumps(problem).encode(), send)
