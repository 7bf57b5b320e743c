"""The page for programmers, done as it says against a real server: its calls of curl, and its Python to the letter."""

import argparse
import json
import shlex
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest

from scribeline.notebook import resolve
from scribeline.tasks.ledger import ledger_of
from scribeline.tasks.notebook import folder_beside, show_build
from scribeline.web.sessions import Sessions
from tests.docs.pages import HOWTO, blocks
from tests.web.browser.serving import Served
from tests.web.test_api import GATES

PAGE = HOWTO / "use-the-api.md"
ADDRESS = "http://127.0.0.1:8477/"


@pytest.fixture
def served(notebook: Path) -> Iterator[tuple[Served, str]]:
    """A server with the kart, and a key for a program."""
    _, key = Sessions(folder_beside(resolve(notebook)) / "devices.json").admit("a walk", "program")
    one = Served(notebook).start()
    yield one, key
    one.kill_if_running()


def curled(command: str) -> httpx.Response:
    """What curl would ask for."""
    reader = argparse.ArgumentParser()
    reader.add_argument("-H", action="append", default=[])
    reader.add_argument("-d")
    reader.add_argument("-o")
    reader.add_argument("--data-binary")
    reader.add_argument("url")
    asked = reader.parse_args(shlex.split(command)[1:])
    content = Path(asked.data_binary[1:]).read_bytes() if asked.data_binary else asked.d
    headers = dict(one.split(": ", 1) for one in asked.H)
    answer = httpx.request(
        "GET" if content is None else "POST", asked.url, headers=headers, content=content, timeout=60
    )
    if asked.o:
        Path(asked.o).write_bytes(answer.content)
    return answer


def test_the_walk_is_done_as_the_page_says(
    served: tuple[Served, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    server, key = served
    monkeypatch.chdir(tmp_path)
    shutil.copy(GATES, "gate-times.csv")

    def here(text: str) -> str:
        return text.replace(ADDRESS, server.url).replace("Bearer KEY", f"Bearer {key}").replace('"KEY"', f'"{key}"')

    commands = [line for block in blocks(PAGE, "console") for line in block.text.replace("\\\n", " ").splitlines()]
    answers = [curled(here(one)) for one in commands if "in-hand" not in one]
    assert len(answers) == len(commands) - 1 >= 5
    assert [one.status_code for one in answers] == [200, 200, 200, 200, 201]
    assert Path("sheets.zip").read_bytes().startswith(b"PK")
    assert [one.name for one in show_build("kart", where=server.notebook).attachments] == ["gate-times.csv"]

    (walk,) = blocks(PAGE, "python")
    did: dict[str, Any] = {}
    exec(here(walk.text), did)
    assert "exhaust" in capsys.readouterr().out
    assert [point["speed_rpm"] for point in did["curve"]["points"]] == [8000.0, 9000.0]
    promised = ledger_of("kart", where=server.notebook).promises
    assert [one.number for one in promised] == [one["entry"] for one in did["kept"]]

    (edit,) = (one for one in commands if "in-hand" in one)
    told = curled(here(edit))  # its `before` is not what this kart has
    assert told.status_code == 409
    assert json.loads(told.text)["yours"] == 50.4
