"""Reading the pages of docs/: their files, their code blocks, their sections."""

import re
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
DOCS = ROOT / "docs"
HOWTO = DOCS / "howto"
MEASURING = sorted(HOWTO.glob("measure-*.md"))
PAGES = [ROOT / "README.md", *sorted(DOCS.rglob("*.md"))]


@dataclass(frozen=True)
class Block:
    """A fenced block: its language, its text, and the line of the page on which the text begins."""

    page: Path
    language: str
    text: str
    line: int

    @property
    def place(self) -> str:
        return f"{self.page.relative_to(ROOT)}:{self.line}"


def blocks(page: Path, *languages: str) -> list[Block]:
    """The fenced blocks of a page in these languages, in order."""
    found, text = [], page.read_text(encoding="utf-8")
    for match in re.finditer(r"^```(\w+)\n(.*?)^```$", text, re.MULTILINE | re.DOTALL):
        if match[1] in languages:
            found.append(Block(page, match[1], match[2], text[: match.start(2)].count("\n") + 1))
    return found


def blocks_in(folder: Path, *languages: str) -> list[Block]:
    """The blocks of every page below a folder."""
    return [block for page in PAGES if page.is_relative_to(folder) for block in blocks(page, *languages)]


def section(page: Path, heading: str) -> str:
    """The text under a heading of the second level; empty where the page has none of that name."""
    found = re.search(rf"^## {re.escape(heading)}\n(.*?)(?=^## |\Z)", page.read_text("utf-8"), re.MULTILINE | re.DOTALL)
    return found[1] if found else ""
