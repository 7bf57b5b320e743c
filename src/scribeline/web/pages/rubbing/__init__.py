"""Photo of a rubbing: photograph in, markers found, outlines over it, corrected by hand, taken port by port."""

from collections import OrderedDict
from collections.abc import Sequence

from nicegui import background_tasks, ui

from scribeline.errors import ScribelineError
from scribeline.tasks.rubbing_review import Review, review
from scribeline.tasks.rubbing_scan import scan_of
from scribeline.tasks.rubbing_work import photograph_at, reading_wishes
from scribeline.web.calls import call
from scribeline.web.pages.rubbing.outlines import Outlines
from scribeline.web.pages.rubbing.photo import Markers, photograph_in
from scribeline.web.pages.rubbing.scan import ScanBoard
from scribeline.web.shell import StepPage, Words, failure, link, section, text
from scribeline.web.uploads import KINDS

_KEPT: OrderedDict[tuple[object, ...], Review] = OrderedDict()
_MOST_KEPT = 6
_READ_AGAIN = ("rubbing", "rubbing.photo", "rubbing.paper", "rubbing.along", "rubbing.down", "rubbing.scan")


def build(page: StepPage) -> None:
    """Build the page."""
    ui.add_head_html('<link rel="stylesheet" href="/static/mark-out.css">')
    ui.add_head_html('<link rel="stylesheet" href="/static/rubbing.css">')
    ui.add_head_html('<script type="module" src="/static/rubbing.js"></script>')
    ui.add_head_html('<script type="module" src="/static/scan.js"></script>')
    link("Back to Measure", page.url("measure"))
    with section(
        "1  The photograph",
        note="Ports rubbed on the marker sheet with a soft pencil, laid flat, photographed or scanned.",
    ):
        photograph_in(page)
    with section("2  What was found in it"):
        board = ScanBoard(page)
        busy = text("", "p").props("role=status")
        markers = Markers(page)
    with section("3  The outlines, over the rubbing"):
        outlines = Outlines(page)
    shown = _Shown(page, board, busy, markers, outlines)
    shown.load()


class _Shown:
    """The photograph in hand, measured in a worker; the outlines follow every edit."""

    def __init__(self, page: StepPage, board: ScanBoard, busy: Words, markers: Markers, outlines: Outlines) -> None:
        self.page, self.board, self.busy, self.markers, self.outlines = page, board, busy, markers, outlines
        self.turn = 0
        page.desk.on_change(self.changed)
        page.client.on_delete(self.end)

    def end(self) -> None:
        self.turn += 1

    def changed(self, paths: Sequence[str]) -> None:
        if any(path in _READ_AGAIN or path.startswith("rubbing.scan.") for path in paths):
            self.load()
        elif any(path.split(".")[0] in ("rubbing", "record") for path in paths):
            self.outlines.refresh()

    def load(self) -> None:
        """Show the photograph in hand, if there is one."""
        self.board.refresh(None)
        self.turn += 1
        background_tasks.create(self._load(self.turn), name="photograph of a rubbing")

    async def _load(self, turn: int) -> None:
        rubbing = self.page.desk.get("rubbing", {})
        if not rubbing.get("photo"):
            self.say("No photograph yet.")
            self.markers.show(None)
            self.outlines.show(None)
            return
        try:
            wishes = reading_wishes(rubbing)
            key = (rubbing["photo"], *wishes)
            seen = _KEPT.get(key)
            if seen is None:
                self.say("Looking at the photograph.")
                self.markers.show(None)
                self.outlines.show(None)
                path = photograph_at(rubbing["photo"], self.page.state.incoming.folder, where=self.page.state.notebook)
                job = call(
                    self.page.state.workers, review, path, *wishes, what="The photograph", limits=KINDS["photo"].limits
                )
                seen = await job.outcome()
        except ScribelineError as refusal:
            if turn == self.turn:
                self.say("The photograph could not be measured.")
                with self.page.client:
                    failure(refusal)
            return
        _KEPT[key] = seen
        while len(_KEPT) > _MOST_KEPT:
            _KEPT.popitem(last=False)
        if turn != self.turn:
            return
        self.say("")
        with self.page.client:
            self.board.refresh(seen)
        scan = scan_of(rubbing)
        self.markers.show(seen, None if scan is None else scan.to_lay)
        self.outlines.show(seen)

    def say(self, words: str) -> None:
        self.busy.set_text(words)
