"""Learn: the history of this cylinder, two revisions beside each other, what was foretold and what came of it."""

from nicegui import ui

from scribeline.web.pages.learn import comparing, foretold, lessons, line
from scribeline.web.pages.learn.book import Book
from scribeline.web.pages.learn.picture import Picture
from scribeline.web.shell import StepPage, cautions, section


def build(page: StepPage) -> None:
    """Build the page."""
    ui.add_head_html('<link rel="stylesheet" href="/static/learn.css">')
    book = Book(page)
    with section("This cylinder, so far"):
        line.build(book)
    with section("Two revisions beside each other"):
        comparing.build(book)
        Picture(book)
    with section("Foretold, and what came of it"):
        foretold.build(book)
    with section("For the next cylinder"):
        lessons.build(book)
    cautions("simulation", "run-test")
