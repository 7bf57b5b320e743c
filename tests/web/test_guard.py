"""Requests as they come to the guard, in front of an application that answers whatever it is given."""

import asyncio
from collections.abc import Callable
from contextlib import nullcontext
from pathlib import Path
from typing import Any

import httpx
import pytest

from scribeline.web import guard as guard_module
from scribeline.web.guard import Door, Guard, device_of, own_addresses
from scribeline.web.headers import NONCE
from scribeline.web.pairing import TRIES_PER_DEVICE
from scribeline.web.sessions import Sessions
from tests.web.loops import run
from tests.web.simulation import run_apart

PORT = 8321
HERE = f"http://127.0.0.1:{PORT}"
LAN_HERE = f"http://192.168.7.2:{PORT}"
PHONE = "192.168.7.31"
SECRET = "what only the builder may see"


class Behind:
    """The application: answers everything with the secret, and remembers what came through."""

    def __init__(self) -> None:
        self.scopes: list[Any] = []
        self.heard: list[str] = []

    async def __call__(self, scope: Any, receive: Any, send: Any) -> None:
        self.scopes.append(scope)
        if scope["type"] == "websocket":
            await receive()
            await send({"type": "websocket.accept"})
            while True:
                message = await receive()
                self.heard.append(message["type"])
                if message["type"] == "websocket.disconnect":
                    return
        await send({"type": "http.response.start", "status": 200, "headers": [(b"content-type", b"text/html")]})
        await send({"type": "http.response.body", "body": SECRET.encode()})


@pytest.fixture
def behind() -> Behind:
    return Behind()


@pytest.fixture
def door(tmp_path: Path) -> Door:
    return Door(PORT, Sessions(tmp_path / "devices.json"))


@pytest.fixture
def lan_door(tmp_path: Path) -> Door:
    return Door(PORT, Sessions(tmp_path / "devices.json"), lan=True)


class Browser:
    """A browser or program at an address, with its cookies."""

    def __init__(self, behind: Behind, door: Door, address: str = "127.0.0.1", base: str = HERE) -> None:
        self.guard, self.address, self.base = Guard(behind, door), address, base
        self.cookies: dict[str, str] = {}

    def ask(self, method: str, path: str, headers: dict[str, str] | None = None, **kwargs: Any) -> httpx.Response:
        async def story() -> httpx.Response:
            transport = httpx.ASGITransport(self.guard, client=(self.address, 50123))
            async with httpx.AsyncClient(transport=transport, base_url=self.base, cookies=self.cookies) as client:
                sent = {"accept": "text/html"} | (headers or {})
                answer = await client.request(method, path, headers=sent, **kwargs)
                self.cookies = dict(client.cookies)
                return answer

        return run(story())

    def get(self, path: str = "/", headers: dict[str, str] | None = None) -> httpx.Response:
        return self.ask("GET", path, headers)

    def post(self, path: str, origin: str | None = None, **kwargs: Any) -> httpx.Response:
        return self.ask("POST", path, {"origin": origin or self.base}, **kwargs)

    def open_with_key(self) -> httpx.Response:
        return self.get(self.guard.door.key.url.removeprefix(HERE))


@pytest.fixture
def here(behind: Behind, door: Door) -> Browser:
    return Browser(behind, door)


@pytest.fixture
def phone(behind: Behind, lan_door: Door) -> Browser:
    return Browser(behind, lan_door, PHONE, LAN_HERE)


def test_a_browser_of_this_computer_comes_in_by_the_key_and_stays(here: Browser, behind: Behind) -> None:
    assert here.get().status_code == 401
    opened = here.open_with_key()
    assert (opened.status_code, opened.headers["location"]) == (303, "/")
    cookie = opened.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Strict" in cookie
    assert here.get().text == SECRET
    assert [device.kind for device in here.guard.door.sessions.devices()] == ["computer"]
    device = device_of(behind.scopes[-1])
    assert device is not None
    assert device.name == "browser on this computer"
    anew = Browser(behind, Door(PORT, Sessions(here.guard.door.sessions.path)))  # the server was started again
    anew.cookies = here.cookies
    assert anew.get().text == SECRET


def test_a_key_works_once_and_the_next_is_told(here: Browser, behind: Behind, door: Door) -> None:
    told: list[str] = []
    door.key.tell = told.append
    used = door.key.url.removeprefix(HERE)
    here.get(used)
    other = Browser(behind, door)
    refused = other.get(used)
    assert refused.status_code == 401
    assert "used before" in refused.text
    assert "set-cookie" not in refused.headers
    assert other.get().status_code == 401
    assert told == [door.key.url]
    assert other.get(told[0].removeprefix(HERE)).status_code == 303


def test_a_browser_that_is_in_does_not_use_up_a_key(here: Browser, door: Door) -> None:
    here.open_with_key()
    before = door.key.url
    assert here.open_with_key().headers["location"] == "/"
    assert door.key.url == before


@pytest.mark.parametrize(
    "to", ["//evil.example", "https://evil.example", "/\\evil.example", "/a\r\nset-cookie: x=y", "x"]
)
def test_the_key_leads_nowhere_else(here: Browser, door: Door, to: str) -> None:
    answer = here.ask("GET", "/open", params={"key": door.key.url.partition("key=")[2], "to": to})
    assert answer.headers["location"] == "/"


def test_the_key_leads_to_a_page_of_ours(here: Browser, door: Door) -> None:
    answer = here.ask("GET", "/open", params={"key": door.key.url.partition("key=")[2], "to": "/cylinder/a/plan"})
    assert answer.headers["location"] == "/cylinder/a/plan"


@pytest.mark.parametrize(
    "path", ["/", "/api/v1/builds", "/static/look.css", "/_nicegui/3/static/x.js", "/help/", "/pair"]
)
def test_who_was_not_let_in_sees_nothing(here: Browser, behind: Behind, path: str) -> None:
    for headers in ({}, {"accept": "*/*"}, {"cookie": f"scribeline-{PORT}=made-up"}):
        answer = here.get(path, headers)
        assert answer.status_code == 401
        assert SECRET not in answer.text
    assert behind.scopes == []


@pytest.mark.parametrize(
    "host",
    ["evil.example", f"evil.example:{PORT}", "127.0.0.1", "127.0.0.1:9", f"127.0.0.1.evil.example:{PORT}",
     f"192.168.7.2:{PORT}", "", f"127.0.0.1:{PORT}, evil.example", f"[::1:{PORT}", f"127.0.0.1@evil.example:{PORT}"],
)  # fmt: skip
def test_a_foreign_name_that_points_here_is_refused(here: Browser, behind: Behind, host: str) -> None:
    here.open_with_key()
    answer = here.get("/", {"host": host})
    assert answer.status_code == 421
    assert SECRET not in answer.text
    assert behind.scopes == []


def test_two_host_headers_are_refused(here: Browser, behind: Behind) -> None:
    here.open_with_key()
    scope = http_scope("GET", "/", [(b"host", b"127.0.0.1:8321"), (b"host", b"evil.example")], here.cookies)
    assert run(status_of(here.guard, scope)) == 421
    assert behind.scopes == []


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost", "LOCALHOST", "[::1]"])
def test_names_of_this_computer_are_accepted(here: Browser, host: str) -> None:
    here.open_with_key()
    assert here.get("/", {"host": f"{host}:{PORT}"}).text == SECRET


@pytest.mark.parametrize(
    "headers",
    [{"origin": "http://evil.example"}, {"origin": "null"}, {}, {"origin": "http://127.0.0.1:9999"},
     {"origin": f"https://127.0.0.1:{PORT}"}, {"sec-fetch-site": "cross-site"}, {"sec-fetch-site": "same-site"},
     {"origin": "http://127.0.0.1:9999", "sec-fetch-site": "same-origin"}],
)  # fmt: skip
@pytest.mark.parametrize("method", ["POST", "PUT", "PATCH", "DELETE", "post"])
def test_what_changes_something_must_come_from_our_page(
    here: Browser, behind: Behind, headers: dict[str, str], method: str
) -> None:
    here.open_with_key()
    answer = here.ask(method, "/api/v1/builds", headers)
    assert answer.status_code == 403
    assert answer.headers["content-type"] == "application/problem+json"
    assert "Nothing was changed" in answer.json()["detail"]
    assert behind.scopes == []


@pytest.mark.parametrize("headers", [{"origin": HERE}, {"sec-fetch-site": "same-origin"}])
def test_what_our_page_sends_comes_through(here: Browser, headers: dict[str, str]) -> None:
    here.open_with_key()
    assert here.ask("POST", "/api/v1/builds", headers, json={}).text == SECRET


def test_a_program_comes_in_with_its_key_and_a_cookie_is_no_key(here: Browser, door: Door) -> None:
    _, token = door.sessions.admit("dyno script", "program")
    key = {"authorization": f"Bearer {token}"}
    assert here.ask("POST", "/api/v1/builds", key, json={}).text == SECRET
    assert here.ask("POST", "/api/v1/builds", {"authorization": "Bearer x"}, json={}).status_code == 401
    here.cookies = {door.cookie: token}
    assert here.get().status_code == 401
    here.cookies = {}
    here.open_with_key()
    own = {"authorization": f"Bearer {here.cookies[door.cookie]}"}
    assert here.ask("POST", "/api/v1/builds", own, json={}).status_code == 401


@pytest.mark.parametrize("peer", ["192.168.7.31", "8.8.8.8", "", "::ffff:8.8.8.8", "nobody"])
def test_without_lan_only_this_computer_is_answered(behind: Behind, door: Door, peer: str) -> None:
    for path in ("/", "/pair", "/open", "/api/v1/builds"):
        answer = Browser(behind, door, peer).get(path)
        assert answer.status_code == 403
        assert SECRET not in answer.text
    assert behind.scopes == []


def test_a_header_cannot_say_who_asks_and_does_not_reach_the_application(here: Browser, behind: Behind) -> None:
    forwarded = {"x-forwarded-for": "127.0.0.1", "x-forwarded-prefix": "/evil", "forwarded": "for=127.0.0.1"}
    outside = Browser(behind, here.guard.door, "8.8.8.8")
    assert outside.get("/", forwarded).status_code == 403
    here.open_with_key()
    assert here.get("/", forwarded).text == SECRET
    assert not [name for name, _ in behind.scopes[-1]["headers"] if b"forwarded" in name]


def test_with_lan_an_unpaired_device_sees_the_pairing_page_alone(phone: Browser, behind: Behind) -> None:
    answer = phone.get("/")
    assert (answer.status_code, answer.headers["location"]) == (303, "/pair")
    page = phone.get("/pair")
    assert page.status_code == 200
    assert "Code on the computer" in page.text
    for path in ("/api/v1/builds", "/static/look.css", "/_nicegui/3/static/x.js", "/favicon.ico"):
        assert phone.get(path, {"accept": "*/*"}).status_code == 401
    assert phone.get("/api/v1/builds").status_code == 401
    key = phone.guard.door.key.url.partition("key=")[2]
    assert phone.get(f"/open?key={key}").headers["location"] == "/pair"  # the key is for this computer alone
    assert behind.scopes == []


def test_with_lan_nobody_from_outside_the_local_network_is_answered(behind: Behind, lan_door: Door) -> None:
    assert Browser(behind, lan_door, "8.8.8.8", LAN_HERE).get("/pair").status_code == 403


@pytest.mark.parametrize(
    "host", ["garage-pc", "garage-pc.local", "localhost", "127.0.0.1", "192.168.7.3", "evil.example"]
)
def test_with_lan_only_the_address_itself_is_a_name(phone: Browser, host: str) -> None:
    assert phone.get("/pair", {"host": f"{host}:{PORT}"}).status_code == 421


def test_a_phone_is_paired_by_a_code_once(phone: Browser, behind: Behind) -> None:
    code = phone.guard.door.pairing.begin().text
    typed = f" {code[:4].lower()} {code[4:]}"
    assert code in phone.get(f"/pair?code={code}").text  # asking for the page pairs nothing
    assert phone.guard.door.pairing.current is not None
    paired = phone.post("/pair", data={"code": typed, "name": "phone in the garage"})
    assert (paired.status_code, paired.headers["location"]) == (303, "/")
    assert phone.get("/").text == SECRET
    assert [device.name for device in phone.guard.door.sessions.devices()] == ["phone in the garage"]
    other = Browser(behind, phone.guard.door, "192.168.7.32", LAN_HERE)
    again = other.post("/pair", data={"code": code})
    assert again.status_code == 403
    assert "each works once" in again.text
    assert other.get("/").headers["location"] == "/pair"


def test_pairing_from_a_foreign_page_is_refused(phone: Browser) -> None:
    code = phone.guard.door.pairing.begin().text
    assert phone.post("/pair", "http://evil.example", data={"code": code}).status_code == 403
    assert phone.guard.door.pairing.current is not None


def test_wrong_codes_are_few_and_other_devices_do_not_suffer(phone: Browser, behind: Behind) -> None:
    code = phone.guard.door.pairing.begin().text
    for _ in range(TRIES_PER_DEVICE):
        assert "not the code" in phone.post("/pair", data={"code": "22222222"}).text
    assert "Too many wrong codes" in phone.post("/pair", data={"code": code}).text
    other = Browser(behind, phone.guard.door, "192.168.7.32", LAN_HERE)
    assert other.post("/pair", data={"code": code}).status_code == 303


def test_what_a_device_calls_itself_is_text(phone: Browser) -> None:
    phone.guard.door.pairing.begin()
    page = phone.post("/pair", data={"code": "x", "name": '"><script>alert(1)</script>'})
    assert "<script" not in page.text
    assert "<script" not in phone.get('/pair?code="><script>').text


def test_a_cookie_of_this_computer_is_worth_nothing_elsewhere(phone: Browser, behind: Behind) -> None:
    here = Browser(behind, phone.guard.door)
    here.open_with_key()
    phone.cookies = here.cookies
    assert phone.get("/").headers["location"] == "/pair"


def test_too_much_is_refused_before_it_is_read(here: Browser, behind: Behind, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(guard_module, "LARGEST_FORM_BYTES", 1000)
    monkeypatch.setattr(guard_module, "LARGEST_BYTES", 5000)
    monkeypatch.setattr(guard_module, "_MULTIPART_BYTES", 0)
    here.open_with_key()
    assert here.post("/api/v1/builds", content=b"x" * 1001).status_code == 413
    assert here.post("/api/v1/builds/a/files", content=b"x" * 5001).status_code == 413
    assert here.post("/_nicegui/client/abc/upload/4", content=b"x" * 5001).status_code == 413
    assert here.post("/_nicegui/client/abc/upload/4", content=b"x" * 1001).text == SECRET

    async def without_a_length() -> Any:
        yield b"x" * 5001

    assert here.post("/api/v1/builds", content=without_a_length()).status_code == 411
    assert len(behind.scopes) == 1


def test_every_answer_says_whom_to_trust(here: Browser, behind: Behind) -> None:
    refused, opened = here.get(), here.open_with_key()
    through = here.get()
    for answer in (refused, opened, through, here.get("/", {"host": "evil.example"})):
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["referrer-policy"] == "same-origin"
        assert answer.headers["cross-origin-opener-policy"] == "same-origin"
        assert answer.headers["cross-origin-resource-policy"] == "same-origin"
        assert answer.headers["cache-control"] == "no-store"
        policy = answer.headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "frame-ancestors 'none'" in policy
        assert "http:" not in policy
        assert "https:" not in policy
    scripts = next(part for part in through.headers["content-security-policy"].split("; ") if "script-src" in part)
    assert scripts == f"script-src 'self' 'nonce-{behind.scopes[-1][NONCE]}' 'unsafe-eval'"
    assert behind.scopes[-1][NONCE] != (here.get(), behind.scopes[-1][NONCE])[1]


# --- sockets, and what is open while somebody is shut out ---------------------------------------------------------


def http_scope(method: str, path: str, headers: list[tuple[bytes, bytes]], cookies: dict[str, str]) -> dict[str, Any]:
    cookie = "; ".join(f"{name}={value}" for name, value in cookies.items()).encode()
    return {
        "type": "http", "method": method, "path": path, "query_string": b"", "client": ("127.0.0.1", 5),
        "server": ("127.0.0.1", PORT), "headers": [*headers, (b"cookie", cookie)], "scheme": "http",
    }  # fmt: skip


def socket_scope(cookies: dict[str, str], *headers: tuple[bytes, bytes]) -> dict[str, Any]:
    return http_scope("GET", "/_nicegui_ws/socket.io/", list(headers), cookies) | {"type": "websocket"}


async def status_of(app: Guard, scope: dict[str, Any]) -> int:
    sent: list[Any] = []

    async def send(message: Any) -> None:
        sent.append(message)

    async def receive() -> Any:
        return {"type": "http.request", "body": b""}

    await app(scope, receive, send)
    return int(sent[0]["status"])


class Socket:
    """The browser's end of a socket."""

    def __init__(self, app: Guard, scope: dict[str, Any]) -> None:
        self.sent: list[Any] = []
        self.coming: asyncio.Queue[Any] = asyncio.Queue()
        self.coming.put_nowait({"type": "websocket.connect"})
        self.task = asyncio.ensure_future(app(scope, self.coming.get, self._send))

    async def _send(self, message: Any) -> None:
        self.sent.append(message)
        if message["type"] == "websocket.close":  # what a server then tells the application
            self.coming.put_nowait({"type": "websocket.disconnect", "code": message["code"]})

    async def until(self, condition: Callable[[], bool]) -> None:
        async def turn() -> None:
            while not condition():
                await asyncio.sleep(0)

        await asyncio.wait_for(turn(), 5)


OUR_HOST, OUR_ORIGIN = (b"host", f"127.0.0.1:{PORT}".encode()), (b"origin", HERE.encode())


@pytest.mark.parametrize(
    "headers",
    [(OUR_HOST,), (OUR_HOST, (b"origin", b"http://evil.example")), (OUR_HOST, (b"origin", b"http://127.0.0.1:9999")),
     ((b"host", b"evil.example:8321"), (b"origin", b"http://evil.example:8321")),
     (OUR_HOST, (b"sec-fetch-site", b"same-origin"))],
)  # fmt: skip
def test_a_socket_from_a_foreign_page_is_refused(
    here: Browser, behind: Behind, headers: tuple[tuple[bytes, bytes], ...]
) -> None:
    here.open_with_key()

    async def story() -> None:
        socket = Socket(here.guard, socket_scope(here.cookies, *headers))
        await asyncio.wait_for(socket.task, 5)
        assert [message["type"] for message in socket.sent] == ["websocket.close"]

    run(story())
    assert behind.scopes == []


def test_a_socket_without_a_session_is_refused(here: Browser, behind: Behind) -> None:
    async def story() -> None:
        socket = Socket(here.guard, socket_scope({}, OUR_HOST, OUR_ORIGIN))
        await asyncio.wait_for(socket.task, 5)
        assert [message["type"] for message in socket.sent] == ["websocket.close"]

    run(story())
    assert behind.scopes == []


def test_a_device_that_is_shut_out_loses_its_socket_at_once(here: Browser, behind: Behind, door: Door) -> None:
    here.open_with_key()

    async def story() -> None:
        socket = Socket(here.guard, socket_scope(here.cookies, OUR_HOST, OUR_ORIGIN))
        await socket.until(lambda: bool(socket.sent))
        assert socket.sent[0]["type"] == "websocket.accept"
        door.sessions.revoke(door.sessions.devices()[0].id)
        await asyncio.wait_for(socket.task, 5)
        assert socket.sent[-1]["type"] == "websocket.close"

    run(story())
    assert behind.heard == ["websocket.disconnect"]
    assert here.get().status_code == 401
    assert Browser(behind, Door(PORT, Sessions(door.sessions.path))).get().status_code == 401


def test_a_device_that_is_shut_out_loses_a_download_that_runs(here: Browser, door: Door) -> None:
    here.open_with_key()
    ended: list[str] = []

    async def endless(scope: Any, receive: Any, send: Any) -> None:
        await send({"type": "http.response.start", "status": 200, "headers": []})
        try:
            while True:
                await send({"type": "http.response.body", "body": b"x", "more_body": True})
                await asyncio.sleep(0.001)
        finally:
            ended.append("ended")

    async def story() -> None:
        scope = http_scope("GET", "/sheet.pdf", [OUR_HOST], here.cookies)
        answering = asyncio.ensure_future(status_of(Guard(endless, door), scope))
        await asyncio.sleep(0.02)
        door.sessions.revoke(door.sessions.devices()[0].id)
        await asyncio.wait_for(answering, 5)
        await asyncio.sleep(0)

    run(story())
    assert ended == ["ended"]


def test_an_error_of_the_application_is_not_swallowed(here: Browser, door: Door) -> None:
    here.open_with_key()

    async def breaks(scope: Any, receive: Any, send: Any) -> None:
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        run(status_of(Guard(breaks, door), http_scope("GET", "/", [OUR_HOST], here.cookies)))


def test_start_and_end_of_the_server_reach_the_application(door: Door) -> None:
    seen: list[str] = []

    async def app(scope: Any, receive: Any, send: Any) -> None:
        seen.append(scope["type"])

    run(Guard(app, door)({"type": "lifespan"}, _nothing, _nothing))
    run(Guard(app, door)({"type": "something new"}, _nothing, _nothing))
    assert seen == ["lifespan"]


async def _nothing(*args: Any) -> Any:
    return None


def test_own_addresses_are_of_local_networks() -> None:
    assert all(not address.startswith("127.") for address in own_addresses())


@pytest.mark.parametrize(("words", "told"), [("No response returned.", False), ("something else", True)])
def test_a_browser_that_left_is_no_fault(words: str, told: bool) -> None:
    async def answer() -> None:
        raise RuntimeError(words)

    async def ask() -> None:
        answering = asyncio.ensure_future(answer())
        await asyncio.wait({answering})
        guard_module._unless_it_left(answering)

    with pytest.raises(RuntimeError, match=words) if told else nullcontext():
        run_apart(ask)
