"""Two revisions beside each other: what was read differently, what follows, drawings and curves over each other."""

from functools import partial
from typing import Any

from nicegui import ui

from scribeline.tasks.history_back import back_to, is_in_hand
from scribeline.tasks.history_page import SideBySide, SoFar, TwoCurves, curves_of_two, side_by_side
from scribeline.tasks.inline_drawings import InlineDrawing
from scribeline.web.drawing import DrawingOnPage
from scribeline.web.pages.learn.book import Book, listed, table
from scribeline.web.shell import button, guarded, said, say, text
from scribeline.web.workers import Job


def build(book: Book) -> None:
    """Build it."""
    too_few = text("As soon as there are two revisions, they can be laid beside each other here.").classes("quiet")
    with ui.element("div") as whole:
        Choice(book)
        place = ui.element("div").props('aria-live="polite"')
        curves = Curves(book)
    waiting: list[Job] = []

    def show() -> None:
        for job in waiting:
            job.stop()
        waiting.clear()
        pair = pair_of(book)
        too_few.set_visibility(pair is None)
        whole.set_visibility(pair is not None)
        if pair is None:
            place.clear()
            return
        job = book.page.state.workers.start(side_by_side, *pair, book.page.units, what="The comparison", quick=True)
        waiting.append(job)
        book.soon(_fill(book, place, job))

    def chosen() -> None:
        curves.chosen()
        show()

    book.on_choice(chosen)
    book.on_change(show)
    show()


def pair_of(book: Book) -> tuple[Any, Any] | None:
    """The two revisions that were chosen; None where there are not two."""
    by_number = {one.number: one for one in book.told.revisions}
    if len(by_number) < 2 or book.before not in by_number or book.after not in by_number:
        return None
    return by_number[book.before], by_number[book.after]


class Choice:
    """Which two, as fields: for the keyboard, for long histories, and for whoever does not see the line."""

    def __init__(self, book: Book) -> None:
        self.book = book
        with ui.element("div").classes("row choice"):
            self._before = self._field("Broken lines: the earlier", book.before)
            self._after = self._field("Full lines: the later", book.after)
            self._back = button("", self._go_back)
        book.on_choice(self._show)
        book.on_change(self._show)
        self._show()

    def _field(self, label: str, value: int) -> ui.select:
        field = ui.select(self._options(), label=label, value=value or None, on_change=self._chosen)
        return field.props("outlined square stack-label options-dense=false").classes("field")

    def _options(self) -> dict[int, str]:
        told = {one.number: one for one in self.book.told.revisions}
        return {number: f"{number}: {one.note or 'no note'}"[:60] for number, one in told.items()}

    def _chosen(self) -> None:
        if self._before.value and self._after.value:
            self.book.choose(int(self._before.value), int(self._after.value))

    def _show(self) -> None:
        options, book = self._options(), self.book
        for field, value in ((self._before, book.before), (self._after, book.after)):
            field.set_options(options, value=value or None)
        self._back.set_text(f"Take revision {book.before} in hand again")
        self._back.set_visibility(book.before in options)

    def _go_back(self) -> None:
        number = self.book.before
        revision = next(one for one in self.book.told.revisions if one.number == number)

        def do() -> None:
            if is_in_hand(self.book.page.desk.get("record"), revision):
                say(f"The record in hand is that of revision {number} already.")
            elif back_to(self.book.page.desk.edit, revision):
                say(f"The record in hand is that of revision {number}. Undo takes it back.")

        guarded(do)


async def _fill(book: Book, place: ui.element, job: Job) -> None:
    await job.wait()
    if job.state == "stopped":
        return
    place.clear()
    with place:
        if job.state != "done":
            with ui.element("div").classes("warning certain").props("role=alert"):
                for words in said(job.error or ""):
                    text(words)
            return
        _side_by_side(job.result)


def _side_by_side(found: SideBySide) -> None:
    was, now = found.heads
    if found.same:
        text("The two records are the same to the letter.")
        return
    with ui.element("div").classes("overlays"):
        for heading, drawing in found.drawings:
            with ui.element("div").classes("overlay"):
                text(heading, "h3")
                _drawn(drawing, was, now)
    if found.rows:
        ui.html(table(["reading", was, now, "by"], found.rows, "What was read differently"), sanitize=False)
    else:
        text("No reading differs; the text does, in comments or layout.")
    if found.follows:
        with ui.element("details").classes("fold"):
            text(f"What follows from that: {len(found.follows)} numbers of the card", "summary")
            ui.html(table(["number of the card", was, now], found.follows, "What follows"), sanitize=False)


def _drawn(drawing: InlineDrawing | str, was: str, now: str) -> None:
    DrawingOnPage(lambda: drawing)
    if not isinstance(drawing, str):
        with ui.element("p").classes("quiet key"):
            ui.element("span").classes("key-broken").props("aria-hidden=true")
            text(was, "span")
            ui.element("span").classes("key-full").props("aria-hidden=true")
            text(now, "span")


class Curves:
    """The power curves of both, worked out when asked for: coarse at once, then fine; it can be stopped."""

    def __init__(self, book: Book) -> None:
        self.book, self._job = book, None
        text("Power curves over each other", "h3")
        with ui.element("div").classes("row"):
            self._start = button("Work out both curves", self._begin, kind="chief")
            self._stop = button("Stop", self._enough)
        with ui.element("div").classes("working") as self._bar_box:
            self._bar = ui.element("progress").props('max=1 value=0 aria-label="How far the curves are"')
            self._words = text("", "p")
        self._place = ui.element("div")
        self._idle()

    _job: Job | None

    def chosen(self) -> None:
        """Other revisions were chosen: what stands here is of others."""
        self._end()
        self._place.clear()

    def _idle(self) -> None:
        self._bar_box.set_visibility(False)
        self._stop.set_visibility(False)

    def _begin(self) -> None:
        pair = pair_of(self.book)
        if pair is None:
            say("There are no two revisions yet.")
            return
        self._end()
        self._bar_box.set_visibility(True)
        self._stop.set_visibility(True)
        self._words.set_text("quick curves first")
        self._bar.props("max=1 value=0")
        self._job = self.book.page.state.workers.start(curves_of_two, *pair, what="The power curves")
        self._job.on_progress(partial(self._told, self._job))
        self._job.on_end(self._ended)

    def _end(self) -> None:
        if self._job is not None:
            self._job.stop()
            self._job = None
        self._idle()

    def _enough(self) -> None:
        """Stop it, and show what it has by then."""
        if self._job is not None:
            self._words.set_text("stopping")
            self._job.stop()

    def _told(self, job: Job, found: Any) -> None:
        if job is not self._job:
            return
        if isinstance(found, SoFar):
            self._bar.props(f"max={found.of} value={found.done}")
            words = "quick curves" if found.stage == "coarse" else "fine curves"
            self._words.set_text(f"{words}: {found.done} of {found.of} speeds")
        elif isinstance(found, TwoCurves):
            self._show(found)

    def _show(self, found: TwoCurves) -> None:
        follow = "; the fine ones follow" if self._job is not None and not self._job.ended else ""
        quick = f"Quick: long cells, every second speed{follow}." if found.stage == "coarse" else ""
        self._place.clear()
        with self._place:
            DrawingOnPage(lambda: found.drawing)
            ui.html(listed([*found.words, *([quick] if quick else [])]), sanitize=False)

    def _ended(self, job: Job) -> None:
        if job is not self._job:
            return
        self._job = None
        self._idle()
        if isinstance(job.result, TwoCurves):
            self._show(job.result)
        if job.state in ("failed", "died"):
            with self._place, ui.element("div").classes("warning certain").props("role=alert"):
                for words in said(job.error or ""):
                    text(words)
