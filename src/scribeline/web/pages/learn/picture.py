"""The picture of two revisions to show to others: looked at, then taken away."""

import base64
from functools import partial

from nicegui import ui

from scribeline.tasks.build_card import Looks, card_of_two
from scribeline.web.calls import call
from scribeline.web.pages.learn.book import Book
from scribeline.web.pages.learn.comparing import pair_of
from scribeline.web.shell import button, failure, text

_KINDS = {".png": "image/png", ".svg": "image/svg+xml"}


class Picture:
    """How it is to look, the picture itself, and the files."""

    def __init__(self, book: Book) -> None:
        self.book = book
        self._turn = 0
        with ui.element("details").classes("fold") as self._fold:
            text("A picture of both, to show to others", "summary")
            text("Timing, squish and compression before and after, with the bore. It is no template, and says so.")
            with ui.element("div").classes("row"):
                self._boxes = {
                    name: ui.checkbox(words, on_change=self.show)
                    for name, words in (("square", "Square"), ("dark", "Dark"), ("transparent", "Without paper"))
                }
            self._place = ui.element("div").classes("build-card")
            with ui.element("div").classes("row"):
                button("Take it as PNG", partial(self.take, ".png"))
                button("as SVG", partial(self.take, ".svg"))
        self._open = False
        self._fold.on("toggle", self._toggled, js_handler="(event) => emit(event.target.open)")
        book.on_choice(self.show)
        book.on_change(self.show)
        self.show()

    def _toggled(self, event: object) -> None:
        self._open = bool(getattr(event, "args", False))
        self.show()

    def show(self) -> None:
        """Draw it anew, where it is looked at; there is none before there are two revisions."""
        self._fold.set_visibility(pair_of(self.book) is not None)
        if self._open:
            self._turn += 1
            self.book.soon(self._show(self._turn))

    async def _show(self, turn: int) -> None:
        data = await self._made(".svg")
        if data is None or turn != self._turn:
            return
        address = f"data:image/svg+xml;base64,{base64.b64encode(data).decode()}"
        words = f"Revisions {self.book.before} and {self.book.after}: timing, squish and compression, and the bore"
        self._place.clear()
        with self._place:
            ui.element("img").props(f'src="{address}" alt="{words}"')

    async def _made(self, suffix: str) -> bytes | None:
        pair = pair_of(self.book)
        if pair is None:
            return None
        looks = Looks(**{name: bool(box.value) for name, box in self._boxes.items()}, units=self.book.page.units)
        job = await call(self.book.page.state.workers, card_of_two, *pair, suffix, looks, what="The picture").wait()
        if job.state != "done":
            with self._place:
                failure(job.error or "")
            return None
        return bytes(job.result)

    async def take(self, suffix: str) -> None:
        """Give it as a file."""
        data = await self._made(suffix)
        if data is not None:
            name = f"{self.book.page.build}, revisions {self.book.before} and {self.book.after}{suffix}"
            ui.download.content(data, name, _KINDS[suffix])
