"""The documents of scribeline as pages of HTML: the same files that stand in docs/, and nothing from a network."""

import re
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files
from pathlib import Path, PurePosixPath

from markdown_it import MarkdownIt
from markdown_it.token import Token

from scribeline.errors import NotThereError

PICTURES = (".svg", ".png", ".jpg")
INDEX = "README"


@dataclass(frozen=True)
class Document:
    """A page of the documents.

    place : its address below /help, without the ending. html : what it says, without its title
    """

    place: str
    title: str
    html: str


@cache
def folder() -> Path:
    """Where they are: inside an installed package, or in docs/ of a clone that is worked on."""
    installed = Path(str(files("scribeline").joinpath("documents")))
    return installed if installed.is_dir() else Path(__file__).resolve().parents[3] / "docs"


@lru_cache(maxsize=64)
def document(place: str) -> Document:
    """The page at a place such as "howto/measure-squish"; NotThereError where there is none."""
    path = _path(place or INDEX, ".md")
    if path is None:
        raise NotThereError(
            f"There is no page {place!r} in the help.\n    what to do: look for it in the list of all pages"
        )
    parser = MarkdownIt("commonmark", {"html": False}).enable("table")
    tokens = parser.parse(re.sub(r"<!--.*?-->", "", path.read_text(encoding="utf-8"), flags=re.DOTALL))
    here = PurePosixPath(path.relative_to(folder()).as_posix())
    title = here.stem
    if tokens and tokens[0].type == "heading_open":
        title = _plain(tokens[1])
        tokens = tokens[3:]
    seen: set[str] = set()
    for at, token in enumerate(tokens):
        if token.tag == "h1":
            token.tag = "h2"  # the page's title is the one that stands above it
        if token.type == "heading_open":
            token.attrSet("id", _anchor(_plain(tokens[at + 1]), seen))
        for child in token.children or ():
            _led(child, here)
    html = parser.renderer.render(tokens, parser.options, {})
    html = html.replace("<table>", '<div class="table" tabindex="0"><table>').replace("</table>", "</table></div>")
    html = re.sub(r"<pre>", '<pre tabindex="0">', html)
    return Document(here.with_suffix("").as_posix(), title, html)


def picture(place: str) -> Path:
    """A picture of the documents; NotThereError where there is none."""
    path = _path(place, "") if place.endswith(PICTURES) else None
    if path is None:
        raise NotThereError(f"There is no picture {place!r} in the help.\n    what to do: nothing, the words are whole")
    return path


def _path(place: str, ending: str) -> Path | None:
    """The file at a place, where it is one of the documents: a place is only ever compared, never walked along."""
    for root in (folder() / f"{place}{ending}", folder() / place / f"{INDEX}{ending}"):
        wanted = root.as_posix()
        found = next((path for path in _all() if path.as_posix() == wanted), None)
        if found is not None:
            return found
    return None


@cache
def _all() -> tuple[Path, ...]:
    return tuple(path for path in folder().rglob("*") if path.suffix in (".md", *PICTURES) and path.is_file())


def _led(token: Token, here: PurePosixPath) -> None:
    """Have a link or picture lead to where it is served; what leads out of the documents leads nowhere from here."""
    name = {"link_open": "href", "image": "src"}.get(token.type)
    if name is None:
        return
    target, _, part = str(token.attrGet(name) or "").partition("#")
    if re.match(r"[a-z]+:", target):
        token.attrSet("rel", "noreferrer")
        return
    inside = _joined(here.parent, target) if target else here
    if inside is not None and inside.suffix == ".md":
        address = "/help/" + inside.with_suffix("").as_posix()
        token.attrSet(name, address.removesuffix(f"/{INDEX}") + (f"#{part}" if part else ""))
    elif inside is not None and inside.suffix in PICTURES:
        token.attrSet(name, f"/help-pictures/{inside}")
    elif token.type == "link_open":
        del token.attrs[name]
        token.attrSet("title", f"{target} stands beside the documents, in the folder that scribeline came in")


def _joined(folder_of_page: PurePosixPath, target: str) -> PurePosixPath | None:
    parts: list[str] = list(folder_of_page.parts)
    for part in target.split("/"):
        if part == "..":
            if not parts:
                return None
            parts.pop()
        elif part not in ("", "."):
            parts.append(part)
    return PurePosixPath(*parts)


def _plain(inline: Token) -> str:
    return "".join(child.content for child in inline.children or () if child.type in ("text", "code_inline"))


def _anchor(heading: str, seen: set[str]) -> str:
    """The name of a heading's place, as the pages link to it."""
    name = re.sub(r"[^\w\- ]", "", heading.lower()).strip().replace(" ", "-")
    one, number = name, 1
    while one in seen:
        number += 1
        one = f"{name}-{number}"
    seen.add(one)
    return one
