"""The documents of scribeline, as pages; nothing of them comes from a network."""

from nicegui import ui

from scribeline.errors import NotThereError
from scribeline.tasks.documents import Document, document
from scribeline.web.shell import begin_page, frame, link, section, text
from scribeline.web.state import State

BESIDE = (
    ("All pages", ""),
    ("How to measure", "howto"),
    ("Cautions", "reference/cautions"),
    ("What may be typed", "reference/typed-values"),
    ("The numbers on the card", "reference/card"),
    ("Concepts", "concepts"),
)


def build(state: State, page: str = "") -> None:
    """Build the page."""
    try:
        found = document(page)
    except NotThereError as refusal:
        begin_page("Help")
        with frame("No such page in the help"), section("What there is"):
            text(str(refusal).splitlines()[0])
            link("All pages", "/help")
        return
    begin_page(f"{found.title} - help")
    with frame(found.title), ui.element("div").classes("help"):
        _text(found)
        _beside()


def _beside() -> None:
    with ui.element("nav").classes("help-nav").props('aria-label="Help"'):
        for words, place in BESIDE:
            link(words, f"/help/{place}" if place else "/help")


def _text(found: Document) -> None:
    ui.html(found.html, sanitize=False, tag="article").classes("help-text")  # our own words, its HTML made by us
