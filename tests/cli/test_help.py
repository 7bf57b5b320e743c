"""The command's help: each command is in it, nothing is cut short, and it comes without loading the heavy libraries."""

import json
import os
import subprocess
import sys

import pytest

COMMANDS = (
    "card", "curve", "trace", "pipe", "plan", "stacks", "who-limits", "sheets", "build-card", "rubbing", "new",
    "check", "schema", "serve", "notebook", "trial", "ledger",
)  # fmt: skip
# Whatever takes long to load: the numerics, the records, the database, and what draws on a terminal.
HEAVY = {
    "numpy", "numba", "llvmlite", "scipy", "pydantic", "pydantic_core", "sqlalchemy", "alembic", "tomlkit", "rich",
    "markdown_it", "pygments", "platformdirs", "importlib.metadata",
}  # fmt: skip
LOADED_BY = """
import json, sys
sys.argv = ["scribeline", *json.loads(sys.argv[1])]
import scribeline.cli
if len(sys.argv) > 1:
    try:
        scribeline.cli.main()
    except SystemExit as end:
        assert end.code == 0
print(json.dumps(sorted(sys.modules)), file=sys.stderr)
"""


def python(*arguments: str) -> subprocess.CompletedProcess[str]:
    done = subprocess.run(
        [sys.executable, *arguments], capture_output=True, text=True, env=os.environ | {"COLUMNS": "80"}
    )
    assert done.returncode == 0, done.stderr
    return done


def help_of(*command: str) -> str:
    return python("-c", "from scribeline.cli import main; main()", *command, "--help").stdout


def test_help_names_every_command_in_full_sentences() -> None:
    text = help_of()
    listed = text.partition("Commands:\n")[2].splitlines()
    assert [line.split()[0] for line in listed] == list(COMMANDS)
    for line in listed:
        summary = line.split(maxsplit=1)[1]
        assert summary.endswith(".")
        assert not summary.endswith("...")


def test_every_command_has_help_that_fits_a_terminal() -> None:
    for command in COMMANDS:
        text = help_of(command)
        assert text.startswith("Usage: ")
        assert f" {command} [OPTIONS]" in text
        assert max(len(line) for line in text.splitlines()) <= 80


def test_help_of_the_card_says_what_each_option_does() -> None:
    text = help_of("card")
    for option in ("--explain", "--names", "--json", "--html", "--rpm", "--no-plus-minus"):
        (line,) = (line for line in text.splitlines() if line.strip().startswith(option))
        assert len(line.split("  ")[-1].split()) >= 4


@pytest.mark.parametrize(
    ("arguments", "by_the_library"),
    [
        ([], set()),
        (["--help"], set()),
        (["card", "--help"], {"pydantic", "pydantic_core", "importlib.metadata"}),  # what it reads options with
        (["notebook", "keep", "--help"], {"pydantic", "pydantic_core", "importlib.metadata"}),
    ],
)
def test_nothing_heavy_is_loaded_for_help(arguments: list[str], by_the_library: set[str]) -> None:
    """Not timed, which a busy machine would spoil: what is not loaded takes no time."""
    loaded = set(json.loads(python("-c", LOADED_BY, json.dumps(arguments)).stderr))
    assert "scribeline.cli.card" in loaded
    assert loaded & HEAVY <= by_the_library
    rooms = {name.split(".")[1] for name in loaded if name.startswith("scribeline.")}
    assert rooms == {"cli", "errors", "_compiled_cache"}


def test_what_is_loaded_would_be_seen() -> None:
    loaded = set(json.loads(python("-c", LOADED_BY, json.dumps(["schema"])).stderr))
    assert {"pydantic", "numpy"} <= loaded


def test_without_a_command_the_help_is_shown() -> None:
    done = subprocess.run(
        [sys.executable, "-c", "from scribeline.cli import main; main()"], capture_output=True, text=True
    )
    assert done.returncode == 2
    assert "Commands:" in done.stdout + done.stderr
