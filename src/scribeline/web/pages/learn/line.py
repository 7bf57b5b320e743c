"""The history as a scribed line. Its revisions are buttons on the drawing, and everything stands below in words."""

from functools import partial

from nicegui import ui

from scribeline.errors import SheetError
from scribeline.tasks.history import Event, Station, stations, timeline_drawing
from scribeline.tasks.inline_drawings import InlineDrawing, inline_drawing
from scribeline.web.drawing import NOT_TO_SCALE
from scribeline.web.pages.learn.book import Book
from scribeline.web.shell import link, text

KINDS = {
    "record": "revision", "promise": "foretold", "measured": "measured", "sheets": "sheets made", "runs": "test runs",
    "lesson": "lesson", "file": "file",
}  # fmt: skip

_HOW = "Press a revision to put it beside the one chosen before. Places follow the order of time, not its length."


def build(book: Book) -> None:
    """Build it."""
    place = ui.element("div")
    buttons: dict[int, ui.button] = {}

    def show() -> None:
        place.clear()
        buttons.clear()
        with place:
            try:
                drawing = timeline_drawing(book.told)
            except SheetError:
                text("Nothing happened yet. Keep the record as its first revision, and the line begins.")
                link("Go on measuring", book.page.url("measure"))
                return
            buttons.update(_line(book, inline_drawing(drawing), stations(book.told, drawing)))
            _words(book)
        mark()

    def mark() -> None:
        for number, one in buttons.items():
            role = {book.after: "the later of the two", book.before: "the earlier of the two"}.get(number, "")
            one.classes(remove="is-before is-after")
            one.classes(add={book.after: "is-after", book.before: "is-before"}.get(number, ""))
            note = next(
                (event.words for event in book.told.events if event.kind == "record" and event.number == number), ""
            )
            told = f"Revision {number}, {note}" + (f": {role}" if role else ": put it beside the other")
            one.props(f"aria-pressed={'true' if role else 'false'}")
            one.props["aria-label"] = one.props["title"] = told
            one.update()

    book.on_change(show)
    book.on_choice(mark)
    show()


def _line(book: Book, drawing: InlineDrawing, found: list[Station]) -> dict[int, ui.button]:
    made = {}
    with ui.element("figure").classes("drawn"):
        with (
            ui.element("div")
            .classes("drawn-on history")
            .props('tabindex=0 role=region aria-label="History, as a line"'),
            ui.element("div").classes("history-sheet").style(f"--mm:{drawing.wide_mm:.1f}"),
        ):
            ui.html(drawing.svg, sanitize=False).classes("history-drawing")
            for one in found:
                number = one.revision.number
                button = ui.button(on_click=partial(book.step_to, number), color=None)
                button.props("unelevated square").classes("station").mark(f"revision-{number}")
                button.style(f"left:{100 * one.left:.3f}%;top:{100 * one.top:.3f}%")
                made[number] = button
        with ui.element("figcaption"):
            text(_HOW, "span")
            text(f" {NOT_TO_SCALE}", "span").classes("printed")
    return made


def _words(book: Book) -> None:
    with ui.element("details").classes("fold"):
        text("The same in words", "summary")
        with ui.element("ol").classes("events"):
            for event in book.told.events:
                _event(book, event)


def _event(book: Book, event: Event) -> None:
    with ui.element("li"):
        text(event.day, "span").classes("when")
        number = f" {event.number}" if event.kind == "record" else ""
        text(KINDS[event.kind] + number, "span").classes("what")
        with ui.element("span"):
            if event.kind == "runs":
                link(event.words, book.page.url("prove", trial=event.ref))
            else:
                text(event.words, "span")
            if event.author:
                text(f" ({event.author})", "span").classes("quiet")
