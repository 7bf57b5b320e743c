"""What the walks through Prove and Learn name in bold or italics is called so on its page, letter by letter.

A name that a page puts together as it goes is given here with the words it is made of.
"""

import ast
import re
from pathlib import Path

import pytest

WEB = Path("src/scribeline/web")
SOURCES = {
    "prove": [*sorted((WEB / "pages/prove").glob("*.py")), WEB / "shell.py"],
    "learn": [
        *sorted((WEB / "pages/learn").glob("*.py")),
        WEB / "shell.py",
        Path("src/scribeline/tasks/ledger_text.py"),
    ],
}
MADE = {
    "prove": {"Undo": "undo", "Redo": "redo"},  # of what is turned, in the head
    "learn": {"Undo": "undo", "Take revision 1 in hand again": " in hand again"},
}
NO_NAMES = {
    "prove": {
        "Before you drive:": "the caution's own heading", "Move an end:": "what is done, not a name",
        "Add one that was missed:": "what is done, not a name", "sound picture": "a word of the text",
        "30 to 55, 40 to 60 km/h": "what is typed",
    },
    "learn": {
        "numbered circle": "a mark of the line", "flag": "a mark of the line", "sheet": "a mark of the line",
        "tag": "a mark of the line", "picture": "a mark of the line", "bar": "a mark of the line",
        "Bore, timing, section, pipe": "four drawings",
        "Before": "a word of the text", "Afterwards": "a word of the text",
    },
}  # fmt: skip


def named(page: str) -> list[str]:
    text = re.sub(r"`[^`]*`|!?\[([^\]]*)\]\([^)]*\)", r"\1", Path(f"docs/tutorial/page-{page}.md").read_text())
    found = re.findall(r"\*\*([^*]+)\*\*", text) + re.findall(r"(?<![*\w])\*([^*\n][^*]*)\*(?!\*)", text)
    return [" ".join(one.split()) for one in found]


def words_of(page: str) -> str:
    """Every text in the sources of a page, as Python puts it together."""
    found = []
    for path in SOURCES[page]:
        found += [
            node.value for node in ast.walk(ast.parse(path.read_text()))
            if isinstance(node, ast.Constant) and isinstance(node.value, str)
        ]  # fmt: skip
    return "\n".join(found)


@pytest.mark.parametrize("page", sorted(SOURCES))
def test_what_a_walk_names_is_called_so_on_its_page(page: str) -> None:
    there = words_of(page)
    names = [one for one in named(page) if one not in NO_NAMES[page]]
    assert len(names) > 10
    assert [one for one in names if MADE[page].get(one, one.rstrip(".:,")) not in there] == []


@pytest.mark.parametrize("page", sorted(SOURCES))
def test_every_exception_is_still_needed(page: str) -> None:
    assert set(NO_NAMES[page]) <= set(named(page))
