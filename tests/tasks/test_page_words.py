"""What errors say on a page: no command and no option is left in what a page can show."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import scribeline
from scribeline.tasks.page_words import on_page

SOURCE = Path(scribeline.__file__).parent
COMMAND = re.compile(r"`scribeline |(?<![\w{(;-])--[a-z]{2}")
AT_THE_COMMAND_LINE = {
    ("notebook", "schema.py"): "a notebook of an older version stops `serve` before there is a page",
    ("web", "settings.py"): "how phones are let in is settled where scribeline is started",
    ("web", "serving.py"): "said before there is a page",
    ("tasks", "page_words.py"): "the words themselves",
}


def strings(tree: ast.AST) -> Iterator[str]:
    """Every text of a module that somebody may read, with X for what is put in; not what is said of the code."""
    said = {id(one.value) for one in ast.walk(tree) if isinstance(one, ast.Expr)}
    parts = {id(part) for one in ast.walk(tree) if isinstance(one, ast.JoinedStr) for part in one.values}
    for one in ast.walk(tree):
        if isinstance(one, ast.JoinedStr):
            yield "".join(str(part.value) if isinstance(part, ast.Constant) else "X" for part in one.values)
        elif isinstance(one, ast.Constant) and isinstance(one.value, str) and id(one) not in said | parts:
            yield one.value


def named() -> Iterator[tuple[str, str]]:
    for path in sorted(SOURCE.rglob("*.py")):
        place = path.relative_to(SOURCE)
        if place.parts[0] == "cli" or (place.parts[0], place.name) in AT_THE_COMMAND_LINE:
            continue
        for words in strings(ast.parse(path.read_text(encoding="utf-8"))):
            if COMMAND.search(words) and not re.search(r"style=|var\(--|:root", words):
                yield str(place), words


def test_there_is_something_to_say_otherwise() -> None:
    assert len(list(named())) > 30


@pytest.mark.parametrize(("place", "words"), list(named()))
def test_no_command_is_left_on_a_page(place: str, words: str) -> None:
    assert not COMMAND.search(on_page(words)), place


def test_a_cylinder_is_called_one_on_the_pages_and_other_words_stay() -> None:
    assert on_page("the build's record, a trial of a build") == "the cylinder's record, a trial of a cylinder"
    same = "rebuild it; build-up; the bore - 50 mm -- and more"
    assert on_page(same) == same
    assert on_page("give --author NAME") == "type your name in the settings"
    assert on_page("`scribeline trial show 'first day'` lists them") == "the page Prove lists them"
