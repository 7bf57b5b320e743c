"""Who comes in, with a real server, real sockets and a real browser."""

import http.client
import os
import re
import socket
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest
from playwright.sync_api import Page, Playwright

from scribeline.tasks.notebook import keep_record
from scribeline.web.guard import own_addresses
from tests.examples import path_of
from tests.web.browser.accessibility import barriers
from tests.web.browser.conftest import PHONE, chromium
from tests.web.browser.serving import TOKENS, Served

FORBIDDEN = "This browser is not let in yet"


def ask(port: int, path: str, at: str = "127.0.0.1", **headers: str) -> tuple[int, str]:
    connection = http.client.HTTPConnection(at, port, timeout=180)
    connection.putrequest("GET", path, skip_host="host" in headers, skip_accept_encoding=True)
    for name, value in headers.items():
        connection.putheader(name, value)
    connection.endheaders()
    answer = connection.getresponse()
    text = answer.read().decode()
    connection.close()
    return answer.status, text


def test_a_browser_comes_in_by_the_address_of_the_terminal_and_no_other_with_the_same(
    served: Served, open_page: Callable[..., Page]
) -> None:
    stranger = open_page(served.url, let_in=False, size=PHONE)
    assert stranger.get_by_role("heading", name=FORBIDDEN).is_visible()
    assert barriers(stranger) == []
    key = served.opening_url
    page = open_page(key, let_in=False)
    page.get_by_role("heading", name="Cylinders", exact=True).wait_for()
    assert page.url == served.url  # the key does not stay in the address
    page.reload()
    page.get_by_role("link", name="kart", exact=False).first.wait_for()
    late = open_page(key, let_in=False)
    assert "used before" in late.inner_text("main")
    following = served.hear(r"another browser on this computer, open (\S+)")[1]
    other = open_page(following, let_in=False)
    other.get_by_role("heading", name="Cylinders", exact=True).wait_for()


def test_a_name_that_was_made_to_point_here_is_refused(looked_at: Served, playwright: Playwright) -> None:
    """As rebinding does: the browser believes that it talks to the attacker's own server."""
    session = f"scribeline-{looked_at.port}={TOKENS[looked_at.port]}"
    assert ask(looked_at.port, "/api/v1/builds", cookie=session)[0] == 200
    status, text = ask(looked_at.port, "/api/v1/builds", cookie=session, host=f"evil.example:{looked_at.port}")
    assert (status, "kart" in text) == (421, False)
    rebound = chromium(playwright, "--host-resolver-rules=MAP evil.example 127.0.0.1")
    page = rebound.new_page()
    answer = page.goto(f"http://evil.example:{looked_at.port}/")
    assert answer is not None
    assert answer.status == 421
    assert page.get_by_role("heading", name="Not under this name").is_visible()
    rebound.close()


@contextmanager
def foreign_page(body: str) -> Iterator[str]:
    """A page of somebody else's, on another port of the same computer: the browser sends our cookie from there."""

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            self.send_response(200)
            self.send_header("content-type", "text/html")
            self.end_headers()
            self.wfile.write(body.encode())

        def log_message(self, *args: object) -> None:
            pass

    with ThreadingHTTPServer(("127.0.0.1", 0), Handler) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_address[1]}/"
        server.shutdown()


def test_a_foreign_page_opens_no_socket_reads_nothing_and_changes_nothing(
    looked_at: Served, open_page: Callable[..., Page]
) -> None:
    ours = looked_at.url.removeprefix("http://").rstrip("/")
    with foreign_page("<p>a page of somebody else</p>") as url:
        page = open_page(url)
        found = page.evaluate(
            """async (ours) => {
              const socket = (host) => new Promise((resolve) => {
                const one = new WebSocket(`ws://${host}/_nicegui_ws/socket.io/?EIO=4&transport=websocket`);
                one.onopen = () => resolve("open");
                one.onerror = () => resolve("refused");
              });
              const read = (path, options) => fetch(`http://${ours}${path}`, { credentials: "include", ...options })
                .then((answer) => `${answer.type} ${answer.status}`, () => "refused");
              const framed = new Promise((resolve) => {
                const frame = document.body.appendChild(document.createElement("iframe"));
                frame.onload = () => resolve(frame.contentDocument ? "seen" : "refused");
                frame.src = `http://${ours}/`;
              });
              return {
                socket: await socket(ours),
                read: await read("/api/v1/builds"),
                write: await read("/api/v1/builds", { method: "POST", body: '{"name": "theirs"}' }),
                blind: await read("/incoming?name=x&kinds=record", { method: "POST", mode: "no-cors", body: "a = 1" }),
                framed: await framed,
              };
            }""",
            ours,
        )
    assert found["socket"] == "refused"
    assert found["read"] == "refused"
    assert found["write"] == "refused"
    assert found["framed"] == "refused"
    page = open_page(looked_at.url)
    page.get_by_role("link", name="kart").first.wait_for()
    assert "theirs" not in page.inner_text("body")
    own = page.evaluate(
        """(ours) => new Promise((resolve) => {
          const one = new WebSocket(`ws://${ours}/_nicegui_ws/socket.io/?EIO=4&transport=websocket`);
          one.onopen = () => resolve("open");
          one.onerror = () => resolve("refused");
        })""",
        ours,
    )
    assert own == "open"


def test_no_page_needs_more_than_the_policy_allows_and_no_markup_or_script_can_be_slipped_in(
    looked_at: Served, open_page: Callable[..., Page], tmp_path: Path
) -> None:
    slipped = "<img src=x class=slipped>"
    record = tmp_path / "odd.toml"
    record.write_text(path_of("club-kart-98").read_text().replace('name = "Club kart 98"', f'name = "{slipped}"'))
    keep_record(record, build="odd", note=slipped, build_note=slipped, author=slipped, where=looked_at.notebook)
    page = open_page("about:blank")
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text) if "Content Security Policy" in message.text else None)
    steps = ("measure", "work-out", "plan", "mark-out", "prove", "learn")
    for path in ("settings", "help/howto/measure-squish", "files/odd", *(f"cylinder/odd/{step}" for step in steps), ""):
        page.goto(looked_at.url + path)
        page.get_by_role("heading", level=1).wait_for()
        page.wait_for_timeout(300)
        assert page.locator(".slipped").count() == 0, path
    assert slipped in page.inner_text("body")  # the note, as it was written
    assert said == []
    ran = page.evaluate(
        """() => {
          window.slipped = [];
          const add = (html) => document.body.append(document.createRange().createContextualFragment(html));
          add("<script>window.slipped.push('script')</scr" + "ipt>");
          add("<img src='/nothing' onerror=\\"window.slipped.push('handler')\\">");
          add("<a id='slip' href=\\"javascript:window.slipped.push('link')\\">x</a>");
          document.getElementById("slip").click();
          return new Promise((resolve) => setTimeout(() => resolve(window.slipped), 400));
        }"""
    )
    assert ran == []
    assert len(said) >= 2


# --- a phone on the network -----------------------------------------------------------------------------------------


@pytest.fixture
def in_a_network() -> str:
    """An address of this computer that others reach it at; what comes from there is not the computer itself."""
    found = own_addresses()
    if not found:
        reason = "this computer is in no local network"
        if os.environ.get("CI"):
            pytest.fail(f"{reason}; in CI this is not skipped")
        pytest.skip(reason)
    return found[0]


@pytest.fixture
def served_lan(notebook: Path, in_a_network: str) -> Iterator[Served]:
    one = Served(notebook, ("--lan",)).start()
    yield one
    one.kill_if_running()


def test_a_phone_sees_nothing_then_is_paired_once_and_is_shut_out_at_once(
    served_lan: Served, in_a_network: str, open_page: Callable[..., Page]
) -> None:
    there = f"http://{in_a_network}:{served_lan.port}"
    code = served_lan.hear(r"    (\w{4} \w{4})    \(works once")[1].replace(" ", "")
    for path in (
        "/",
        "/api/v1/builds",
        "/static/look.css",
        "/cylinder/kart/measure",
        "/small/kart/work",
        "/notebook.zip",
    ):
        status, text = ask(served_lan.port, path, in_a_network)
        assert status in (303, 401)
        assert "kart" not in text
    phone = open_page(there, let_in=False, size=PHONE)
    phone.get_by_role("heading", name="Pair this device").wait_for()
    assert barriers(phone) == []
    phone.get_by_label("Code on the computer").fill("2222 2222")
    phone.get_by_role("button", name="Pair").click()
    assert "not the code" in phone.get_by_role("alert").inner_text()
    phone.goto(f"{there}/pair?code={code}")  # as the camera opens it
    phone.get_by_label("A name for this device").fill("phone in the garage")
    phone.get_by_role("button", name="Pair").click()
    phone.get_by_role("link", name="kart").first.wait_for()
    other = open_page(f"{there}/pair?code={code}", let_in=False, size=PHONE)
    other.get_by_role("button", name="Pair").click()
    assert "each works once" in other.get_by_role("alert").inner_text()

    computer = open_page(f"{served_lan.url}settings")
    computer.get_by_role("button", name="Show a code").click()
    shown = computer.locator(".code").inner_text()
    assert re.fullmatch(r"\w{4} \w{4}", shown)
    assert barriers(computer) == []
    phone.goto(f"{there}/settings")
    phone.get_by_text("Codes are shown on the computer itself only.").wait_for()
    computer.get_by_role("button", name="Shut out phone in the garage").click()
    computer.get_by_role("dialog").get_by_role("button", name="Shut out").click()
    computer.get_by_role("button", name="Shut out phone in the garage").wait_for(state="detached")
    assert phone.evaluate("() => fetch('/api/v1/builds').then((answer) => answer.status)") == 401
    phone.wait_for_function("() => !window.socket?.connected")
    phone.goto(there)
    phone.get_by_role("heading", name="Pair this device").wait_for()


def test_without_lan_nobody_else_even_connects(looked_at: Served, in_a_network: str) -> None:
    with pytest.raises(OSError, match=r"refused|timed out"):
        socket.create_connection((in_a_network, looked_at.port), timeout=3)
