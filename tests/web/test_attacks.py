"""What somebody on the same network might try, where no other test does: several at once, and archives that burst."""

import asyncio
import json
import resource
import threading
import zipfile
from pathlib import Path

import httpx
import pytest

from scribeline.errors import ScribelineError
from scribeline.tasks.notebook import import_notebook, list_builds
from scribeline.web.guard import Door, Guard
from scribeline.web.pairing import TRIES_PER_CODE, Pairing
from scribeline.web.sessions import Sessions
from scribeline.web.uploads import Incoming
from tests.web.loops import run
from tests.web.test_guard import LAN_HERE, PORT, SECRET, Behind


@pytest.fixture
def door(tmp_path: Path) -> Door:
    return Door(PORT, Sessions(tmp_path / "devices.json"), lan=True)


async def paired(door: Door, address: str, code: str) -> httpx.Response:
    """A phone at an address that sends a code."""
    transport = httpx.ASGITransport(Guard(Behind(), door), client=(address, 50123))
    async with httpx.AsyncClient(transport=transport, base_url=LAN_HERE) as client:
        answer = await client.post("/pair", data={"code": code}, headers={"origin": LAN_HERE, "accept": "text/html"})
        if answer.status_code == 303:
            assert (await client.get("/", headers={"accept": "text/html"})).text == SECRET
        return answer


def test_of_many_phones_that_send_one_code_at_once_one_comes_in(door: Door) -> None:
    async def story() -> None:
        code = door.pairing.begin().text
        answers = await asyncio.gather(*(paired(door, f"192.168.7.{30 + one}", code) for one in range(12)))
        assert [answer.status_code for answer in answers].count(303) == 1

    run(story())
    assert len(door.sessions.devices()) == 1


def test_of_many_threads_that_take_one_code_at_once_one_has_it() -> None:
    pairing = Pairing()
    for _ in range(20):
        code, start, taken = pairing.begin().text, threading.Barrier(8), list[str | None]()

        def take(number: int, code: str = code, start: threading.Barrier = start, to: list[str | None] = taken) -> None:
            start.wait()
            to.append(pairing.take(code, f"192.168.7.{number}"))

        threads = [threading.Thread(target=take, args=(number,)) for number in range(8)]
        for one in threads:
            one.start()
        for one in threads:
            one.join()
        assert taken.count(None) == 1


def test_a_code_that_many_phones_guess_at_at_once_dies_and_lets_nobody_in(door: Door) -> None:
    async def story() -> None:
        code = door.pairing.begin().text
        wrong = "2" * len(code) if code != "2" * len(code) else "3" * len(code)
        guesses = (paired(door, f"192.168.7.{20 + one % 200}", wrong) for one in range(TRIES_PER_CODE + 20))
        assert {answer.status_code for answer in await asyncio.gather(*guesses)}.isdisjoint({200, 303})
        assert door.pairing.current is None
        assert (await paired(door, "192.168.7.250", code)).status_code != 303

    run(story())
    assert door.sessions.devices() == []


def test_a_notebook_that_would_burst_is_refused_in_words_and_writes_nothing(tmp_path: Path) -> None:
    """As it comes in through the page: a few hundred kilobytes that say, or do not say, that they are gigabytes."""
    incoming, notebook = Incoming(), tmp_path / "notebook.sqlite"
    bomb = tmp_path / "bomb.zip"
    with zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as packed:
        packed.writestr("notebook.json", json.dumps({"scribeline_notebook": 1}) + " " * 300_000_000)
        packed.writestr("../../evil.toml", "x")
    assert bomb.stat().st_size < 3_000_000

    async def come_in() -> Path:
        async def pieces():  # type: ignore[no-untyped-def]
            yield bomb.read_bytes()

        return (await incoming.take(pieces(), "../../notebook.zip", ["notebook"])).path

    try:
        before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        with pytest.raises(ScribelineError, match=r"(?s)unpacks to 300.*what to do"):
            import_notebook(run(come_in()), where=notebook)
        assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 100_000  # kB: never unpacked
        assert not notebook.exists() or list_builds(where=notebook) == []
        assert not [*tmp_path.parent.glob("evil.toml"), *tmp_path.parent.parent.glob("evil.toml")]
    finally:
        incoming.close()
