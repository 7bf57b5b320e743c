"""What the pages show as printed is printed: commands run, their text appears, Python examples give their results.

On a page, ```sh tells a command and ```text under it some of what it prints. Blanks and line ends do not count, and
`...` stands for whatever was left out.
"""

import contextlib
import doctest
import io
import shlex
import shutil
import sys
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

from scribeline.cli import main
from tests.docs.pages import DOCS, PAGES, ROOT, Block, blocks, blocks_in
from tests.rubbing.kart import pixels
from tests.rubbing.rendering import save

PROGRAM = ".venv/bin/scribeline"
PRINTING = [
    page for page in PAGES if page == ROOT / "README.md" or page.parent.name in ("tutorial", "howto", "concepts")
]
STOPS = {"check examples/careless.toml": 2, "new my-engine.toml": 1}
"""Exit status of the commands that are meant to be refused, or that wait for answers nobody gives."""


def commands(block: Block) -> list[str]:
    """The calls of scribeline in a ```sh block, without its name and their comments."""
    lines = [line for line in block.text.splitlines() if line.startswith(f"{PROGRAM} ")]
    return [shlex.join(shlex.split(line, comments=True)[1:]) for line in lines]


def commands_of(page: Path) -> list[str]:
    return [command for block in blocks(page, "sh") for command in commands(block)]


@dataclass(frozen=True)
class Ran:
    """A command, its exit status, and everything it printed."""

    command: str
    status: int
    printed: str


def run(command: str) -> Ran:
    """Run a command in this process and this folder, with nobody at the keyboard.

    `serve` would serve until it is interrupted; that it starts is seen by the tests of the pages.
    """
    if shlex.split(command)[:1] == ["serve"]:
        command = "serve --help"
    printed, arguments, keyboard, status = io.StringIO(), sys.argv, sys.stdin, 0
    sys.argv, sys.stdin = ["scribeline", *shlex.split(command)], io.StringIO()
    try:
        with contextlib.redirect_stdout(printed), contextlib.redirect_stderr(printed):
            main()
    except SystemExit as stop:
        status = stop.code if isinstance(stop.code, int) else 0
    finally:
        sys.argv, sys.stdin = arguments, keyboard
    return Ran(command, status, printed.getvalue())


run_on_an_example = cache(run)
"""The card of an example is the same on every page."""


@pytest.fixture(scope="module")
def run_of_page(tmp_path_factory: pytest.TempPathFactory) -> Callable[[Path], list[Ran]]:
    """Runs the commands of a page in order, once, in a folder as a reader has it: a record, no notebook, a photograph
    where the page asks for one."""

    @cache
    def all_of(page: Path) -> list[Ran]:
        folder = tmp_path_factory.mktemp(page.stem)
        shutil.copytree(ROOT / "examples", folder / "examples")
        shutil.copy(ROOT / "examples" / "club-kart-98.toml", folder / "my-engine.toml")
        if "photo.jpg" in page.read_text(encoding="utf-8"):
            save(pixels("sideways"), folder / "photo.jpg")
        ran = []
        with pytest.MonkeyPatch.context() as patch:
            patch.chdir(folder)
            patch.setenv("SCRIBELINE_NOTEBOOK", str(folder / "notebook.sqlite"))
            for command in commands_of(page):
                plain_card = command.startswith("card examples/") and "--html" not in command
                ran.append(run_on_an_example(command) if plain_card else run(command))
        return ran

    return all_of


def plain(text: str) -> str:
    return " ".join(text.split())


@pytest.mark.parametrize("page", [page for page in PRINTING if commands_of(page)], ids=lambda page: page.stem)
def test_the_commands_of_a_page_run(page: Path, run_of_page: Callable[[Path], list[Ran]]) -> None:
    for ran in run_of_page(page):
        assert ran.status == STOPS.get(ran.command, 0), ran
        assert ran.printed


def test_new_begins_to_ask_and_stops_when_nobody_answers(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    ran = run("new my-engine.toml")
    assert (ran.status, "a name for the engine" in ran.printed) == (STOPS[ran.command], True)


def shown() -> list[tuple[Block, int]]:
    """Each ```text block with how many commands of scribeline stand above it on its page."""
    found = []
    for page in PRINTING:
        count = 0
        for block in blocks(page, "sh", "text"):
            if block.language == "text":
                found.append((block, count))
            count += len(commands(block)) if block.language == "sh" else 0
    return found


@pytest.mark.parametrize(("block", "above"), shown(), ids=lambda one: getattr(one, "place", ""))
def test_what_a_page_shows_is_printed(block: Block, above: int, run_of_page: Callable[[Path], list[Ran]]) -> None:
    assert above > 0
    printed = plain(run_of_page(block.page)[above - 1].printed)
    for piece in block.text.split("\n...\n"):
        assert plain(piece) in printed
        printed = printed[printed.index(plain(piece)) :]


@pytest.mark.parametrize("page", sorted({block.page for block in blocks_in(DOCS, "pycon")}), ids=lambda page: page.stem)
def test_python_examples_give_what_they_show(page: Path) -> None:
    results = doctest.testfile(str(page), module_relative=False)
    assert results.attempted > 0
    assert results.failed == 0
