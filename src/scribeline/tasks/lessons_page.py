"""What one cylinder taught, as one page for the next builder: opens anywhere, loads nothing, prints not to scale."""

from collections.abc import Iterator
from html import escape
from importlib.resources import files
from pathlib import Path

from scribeline import __version__
from scribeline.data.cautions import cautions_for
from scribeline.errors import SheetError
from scribeline.learning.words import SOURCES, all_words
from scribeline.marking.drafting import extent
from scribeline.marking.shapes import Drawing
from scribeline.marking.svg import style, write_svg
from scribeline.sources import source
from scribeline.tasks.curve_page import listed, write_page
from scribeline.tasks.history import Timeline, ledger_drawing, timeline_drawing, timeline_in
from scribeline.tasks.history_compare import TwoRevisions, compare_in, overlaid
from scribeline.tasks.ledger_text import moved_words, promise_text
from scribeline.tasks.notebook import Tell, Where, opened, silently

NOT_TO_SCALE = "This page is not to scale. Do not cut metal to it."
_LOADS_NOTHING = "default-src 'none'; style-src 'unsafe-inline'"


def lessons_page(history: Timeline, two: TwoRevisions | None = None) -> str:
    """The page as text. two : the first and the last revision beside each other, where they shall be shown."""
    css = files("scribeline.tasks").joinpath("card_page.css").read_text(encoding="utf-8")
    title = f"What {history.build} taught"
    out = [
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">',
        f'<meta http-equiv="Content-Security-Policy" content="{_LOADS_NOTHING}">',
        '<meta name="viewport" content="width=device-width, initial-scale=1">',
        f"<title>{escape(title)}</title>",
        f"<style>\n{css}\n{style()}\n</style>\n</head>\n<body>\n<main>",
        f'<header class="block">\n<div>\n<h1>{escape(title)}</h1>',
        f'<p class="quiet">{NOT_TO_SCALE}</p>\n</div>\n</header>',
    ]
    sections: list[tuple[str, Iterator[str]]] = [
        ("For the next cylinder", _lessons(history)),
        ("How it went", _drawn(_timeline(history))),
    ]
    if two is not None and not two.same_text:
        was, now = two.heads
        sections.append((f"From {was} to {now}", _difference(two)))
    if any(not one.left_out for one in history.ledger.promises):
        sections.append(("Predicted, and measured afterwards", _besides(history)))
    sections.append(("Cautions", listed(one.text for one in cautions_for("cut-plan", "run-test"))))
    for heading, content in sections:
        out += [f"<section>\n<h2>{escape(heading)}</h2>", *content, "</section>"]
    told = " ".join(source(key).text for key in SOURCES if key != "judgement")
    out.append(f"<footer><p>Written by scribeline {__version__}. Intervals by: {escape(told)}</p></footer>")
    out.append("</main>\n</body>\n</html>\n")
    return "\n".join(out)


def _lessons(history: Timeline) -> Iterator[str]:
    if not history.ledger.lessons:
        yield '<p class="quiet">No lesson is written down yet.</p>'
        return
    yield "<ol>"
    for one in history.ledger.lessons:
        words = "<br>".join(escape(line) for line in one.note.splitlines())
        yield f'<li>{words} <span class="quiet">{escape(one.author)}, {one.made_at:%Y-%m-%d}</span></li>'
    yield "</ol>"


def _timeline(history: Timeline) -> Drawing | None:
    try:
        return timeline_drawing(history)
    except SheetError:
        return None


def _drawn(drawing: Drawing | None) -> Iterator[str]:
    if drawing is None:
        yield '<p class="quiet">Nothing happened yet.</p>'
        return
    svg = write_svg(drawing, inline=True)
    yield f'<figure>\n<div class="sheet wide" style="--mm:{extent(drawing).width:.1f}" tabindex="0">{svg}</div>'
    yield f"<figcaption>{escape(drawing.title)}. {NOT_TO_SCALE}</figcaption>\n</figure>"


def _difference(two: TwoRevisions) -> Iterator[str]:
    for drawing in overlaid(two).values():
        if not isinstance(drawing, str):
            yield from _drawn(drawing)
    yield "<h3>Read differently</h3>\n<ul>"
    yield from (f"<li>{escape(str(one))}</li>" for one in two.differences)
    yield "</ul>\n<h3>What followed</h3>\n<ul>"
    yield from (f"<li>{escape(words)}</li>" for words in moved_words(two))
    yield "</ul>"


def _besides(history: Timeline) -> Iterator[str]:
    yield from _drawn(ledger_drawing(history.ledger))
    yield "<ul>"
    yield from (f"<li>{escape(promise_text(one))}</li>" for one in history.ledger.promises)
    yield "</ul>\n<h3>What that says of the next prediction</h3>\n<ul>"
    yield from (f"<li>{escape(words)}</li>" for words in all_words(history.ledger.of_all))
    yield "</ul>"


def lessons_page_of(build: str, *, where: Where = None, tell: Tell = silently) -> str:
    """The page of a build, with its first and last revision beside each other."""
    with opened(where, tell=tell) as notebook:
        history = timeline_in(notebook, build)
        several = len(history.revisions) > 1
        two = compare_in(notebook, build, 1, history.revisions[-1].number) if several else None
    return lessons_page(history, two)


def write_lessons_page(build: str, path: Path, *, where: Where = None, tell: Tell = silently) -> None:
    """Write the page of a build. Raises SheetError where the file cannot be written."""
    write_page(lessons_page_of(build, where=where, tell=tell), path)
