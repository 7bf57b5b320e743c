"""Lessons: what the builder would do again, or never again; and the page that takes them to the next one."""

from nicegui import run, ui

from scribeline.errors import ScribelineError
from scribeline.tasks.ledger import write_lesson
from scribeline.tasks.lessons_page import lessons_page_of
from scribeline.web.pages.learn.book import Book
from scribeline.web.shell import button, failure, text
from scribeline.web.text_input import text_area


def build(book: Book) -> None:
    """Build it."""
    place = ui.element("div")

    def show() -> None:
        place.clear()
        with place:
            if not book.told.ledger.lessons:
                text("Nothing written down yet. What would you do again, and what never again?").classes("quiet")
                return
            with ui.element("ol").classes("lessons"):
                for one in book.told.ledger.lessons:
                    with ui.element("li"):
                        for words in one.note.splitlines():
                            text(words)
                        text(f"{one.author}, {one.made_at:%Y-%m-%d}").classes("quiet")

    book.on_change(show)
    show()
    area = (
        text_area("A lesson", draft="lesson")
        .props("outlined square stack-label autogrow autocomplete=off")
        .classes("field field-wide")
    )

    async def keep() -> None:
        revision = book.told.revisions[-1].number if book.told.revisions else None
        if await book.write(write_lesson, area.value or "", revision=revision, done="Kept."):
            area.set_value("")

    async def page() -> None:
        try:
            content = await run.io_bound(lessons_page_of, book.page.build, where=book.where) or ""
        except ScribelineError as refusal:
            failure(refusal)
            return
        ui.download.content(content.encode(), f"{book.page.build}.html", "text/html")

    with ui.element("div").classes("row"):
        button("Keep this lesson", keep, kind="chief")
        button("Take it all along as one page", page)
    text("The page opens anywhere, loads nothing, and is not to scale: no template comes off it.").classes("quiet")
