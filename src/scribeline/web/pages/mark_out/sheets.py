"""The sheets: what each is for and what it looks like, which ones are taken, and the files to print and cut by."""

import re
from base64 import b64encode
from collections import OrderedDict
from collections.abc import Sequence
from functools import partial
from html import escape
from typing import get_args

from nicegui import background_tasks, ui

from scribeline.errors import ScribelineError
from scribeline.tasks.bench_marks import ticked_at
from scribeline.tasks.marking_in_hand import marking_of
from scribeline.tasks.printer_check import printer_check
from scribeline.tasks.sheet_drawings import SHEETS
from scribeline.tasks.sheet_order import (
    WISHES,
    Download,
    Order,
    Preview,
    as_pdf,
    as_zip,
    chosen_sheets,
    order_of,
    order_to_take,
    preview,
    printed_entry,
    today,
    units_in,
    wish_shown,
    wish_typed,
)
from scribeline.units import Units, unit_of
from scribeline.web.calls import call
from scribeline.web.fields import Field, Typed
from scribeline.web.shell import StepPage, button, failure, link, said, say, section, text
from scribeline.web.workers import Job

_KEPT: OrderedDict[tuple[str, str], Preview] = OrderedDict()
_MOST_KEPT = 96
_DOCS = re.compile(r"docs/([\w/-]+)\.md")
_WAIT_S = 0.3


def build(page: StepPage) -> None:
    """Build the section."""
    with section(
        "2  Take the sheets", note="Untick what you do not need. Every sheet proves its own scale by its bars."
    ):
        _written_in(page)
        shown = _Sheets(page)
        with ui.element("details").classes("more"):
            text("How they are made: paper, windows, wheels, metal", "summary")
            _wishes(page)
    with section("3  Print them"):
        _files(page)
        _printed(page)
    shown.soon()


class _Sheets:
    """All sheets with their pictures, made one after the other in a worker and made anew where the work changes."""

    def __init__(self, page: StepPage) -> None:
        self.page, self.turn = page, 0
        self.order: Order | None = None
        self.refused = ui.element("div").props("role=status")
        with ui.element("div").classes("sheets"):
            self.entries = {name: _Entry(page, name) for name in SHEETS}
        self.timer = ui.timer(_WAIT_S, self.fill, active=False, once=False)
        page.desk.on_change(self.changed)
        page.client.on_delete(self.end)

    def changed(self, paths: Sequence[str]) -> None:
        for entry in self.entries.values():
            entry.show_chosen()
        if any(not path.startswith(("marking.bench", "marking.printed", "marking.sheets")) for path in paths):
            self.soon()

    def soon(self) -> None:
        """Make the pictures anew when no further change has come for a moment."""
        self.turn += 1
        self.timer.activate()

    def end(self) -> None:
        self.turn += 1

    def fill(self) -> None:
        self.timer.deactivate()
        background_tasks.create(self._fill(self.turn), name="previews of sheets")

    async def _fill(self, turn: int) -> None:
        self.refused.clear()
        try:
            order = order_of(self.page.desk.desk.document, today(), self.page.preferences.paper, self.page.units)
        except ScribelineError as refusal:
            self._refuse(str(refusal))
            return
        if order == self.order:
            return
        for name, entry in self.entries.items():
            seen = _KEPT.get((order.key, name))
            if seen is None:
                job = await call(self.page.state.workers, preview, order, name, what=f"The sheet {name}").wait()
                if turn != self.turn:
                    return
                if job.state != "done":
                    if job.error_kind in ("RecordError", "PlanError"):
                        self._refuse(job.error or "")
                        return
                    entry.show_error(job.error or "")
                    continue
                seen = _keep(order, name, job)
            entry.show(seen)
        self.order = order

    def _refuse(self, why: str) -> None:
        self.order = None
        with self.refused, ui.element("div").classes("warning certain"):
            text("No sheet can be made yet", "h3")
            for line in said(why)[:12]:
                text(line)
            link("Go to Measure", self.page.url("measure"))
        for entry in self.entries.values():
            entry.show_error("")


def _keep(order: Order, name: str, job: Job) -> Preview:
    seen: Preview = job.result
    _KEPT[order.key, name] = seen
    while len(_KEPT) > _MOST_KEPT:
        _KEPT.popitem(last=False)
    return seen


class _Entry:
    """One kind of sheet: its first page, what it is for, whether it is taken along."""

    def __init__(self, page: StepPage, name: str) -> None:
        self.page, self.name = page, name
        self.seen: Preview | None = None
        with ui.element("article").classes("sheet"):
            self.picture = ui.html("", sanitize=False, tag="div").classes("sheet-picture")
            self.box = ui.checkbox(name.replace("-", " "), value=name in chosen_sheets(page.desk.desk.document))
            self.box.classes("big-box").on_value_change(self.choose)
            text(SHEETS[name], "p").classes("quiet")
            self.about = ui.element("div").classes("sheet-about")
            self.closer = button("Look closer", self.look, kind="plain").props(f'aria-label="Look closer at {name}"')
            self.closer.set_visibility(False)

    def choose(self) -> None:
        document = self.page.desk.desk.document
        chosen = chosen_sheets(document)
        if self.box.value == (self.name in chosen):
            return
        names = [one for one in SHEETS if (self.box.value if one == self.name else one in chosen)]
        verb = "taken" if self.box.value else "left out"
        self.page.desk.edit("marking.sheets", names, f"sheet {self.name} {verb}")

    def show_chosen(self) -> None:
        self.box.set_value(self.name in chosen_sheets(self.page.desk.desk.document))

    def show(self, seen: Preview) -> None:
        """Show what was made."""
        if seen == self.seen:
            return
        self.seen = seen
        self.closer.set_visibility(bool(seen.pictures))
        if not seen.pictures:
            why = seen.left_out.splitlines()
            self.picture.set_content(f'<p class="sheet-none">Cannot be made: {escape(why[0])}</p>')
            self.about.clear()
            with self.about:
                for line in why[1:]:
                    with_help(line.strip())
            return
        self.picture.set_content(_picture(seen, 0))
        count = len(seen.pictures)
        self.about.clear()
        with self.about:
            text(f"{count} page{'s' if count > 1 else ''}. {seen.scale.capitalize()}.")

    def show_error(self, why: str) -> None:
        """Show that there is no picture, and why."""
        self.seen = None
        self.closer.set_visibility(False)
        self.picture.set_content(f'<p class="sheet-none">{escape(why) or "Nothing to show yet"}</p>')
        self.about.clear()

    def look(self) -> None:
        """Every page of it, as large as the screen."""
        seen = self.seen
        if seen is None:
            return
        large = ui.dialog(value=True).props('maximized aria-label="Pages of a sheet, not to scale"')
        with large as dialog, ui.element("div").classes("panel look-closer"):
            with ui.element("div").classes("row"):
                text(seen.title, "h2")
                button("Close", dialog.close, kind="chief")
            text("These pictures are not to scale: print the PDF to mark out by.")
            for i in range(len(seen.pictures)):
                ui.html(_picture(seen, i), sanitize=False, tag="div").classes("sheet-picture")


def with_help(words: str) -> None:
    """Words in which a page of the docs is a link to it."""
    before, page, after = _DOCS.split(words, maxsplit=1) if _DOCS.search(words) else (words, "", "")
    with ui.element("p"):
        text(before, "span")
        if page:
            link(f"help: {page.rpartition('/')[2].replace('-', ' ')}", f"/help/{page}")
            text(after, "span")


def _picture(seen: Preview, number: int) -> str:
    packed = b64encode(seen.pictures[number].encode()).decode("ascii")
    words = f"{seen.title}: {seen.purpose}. Page {number + 1} of {len(seen.pictures)}, not to scale."
    return f'<img loading="lazy" alt="{escape(words)}" src="data:image/svg+xml;base64,{packed}">'


def _wishes(page: StepPage) -> None:
    with ui.element("div").classes("row"):
        for key, what, usual in WISHES:
            label, show = f"{what}, {unit_of(page.units)}", partial(wish_shown, units=page.units)
            field = Field(page, f"marking.{key}", label, read=partial(_read, key, what, page.units), show=show)
            field.input.props(f'placeholder="{usual[page.units]}"')
    _tick(page, "windows", "Ports are to be cut out of the wrap as windows", True)
    _tick(page, "turns", "The crank turns anticlockwise, seen from the wheel", "anticlockwise")


def _tick(page: StepPage, key: str, words: str, ticked: object) -> None:
    box = ui.checkbox(words, value=page.desk.get(f"marking.{key}") == ticked).classes("big-box")

    def choose() -> None:
        value = ticked if box.value else None
        if value != page.desk.get(f"marking.{key}"):
            page.desk.edit(f"marking.{key}", value, words if box.value else f"not: {words}")

    box.on_value_change(choose)

    def show(_: Sequence[str]) -> None:
        box.set_value(page.desk.get(f"marking.{key}") == ticked)

    page.desk.on_change(show)


def _written_in(page: StepPage) -> None:
    """What lengths on the sheets are written in."""

    def now() -> str:
        return units_in(page.desk.desk.document, page.units)

    text("Lengths on the sheets are written in").classes("quiet")
    chosen = ui.radio(list(get_args(Units)), value=now()).props('inline aria-label="Lengths on the sheets are in"')

    def choose() -> None:
        if chosen.value != now():
            page.desk.edit("marking.units", chosen.value, f"sheets in {chosen.value}")

    def show(_: Sequence[str]) -> None:
        chosen.set_value(now())

    chosen.on_value_change(choose)
    page.desk.on_change(show)


def _read(key: str, what: str, units: Units, typed: str) -> Typed:
    return Typed(wish_typed(key, typed, units), f"{what} {typed.strip() or 'as usual'}")


def _files(page: StepPage) -> None:
    warned = ui.element("p").classes("warning").props("role=status")

    def show(_: Sequence[str] = ()) -> None:
        check = printer_check(marking_of(page.desk.desk.document))
        warned.set_visibility(not check.trusted)
        warned.clear()
        with warned:
            text("This printer is not proved: look at these sheets, but take no line from them. See 1.", "span")

    page.desk.on_change(show)
    show()
    with ui.element("div").classes("row"):
        button("One PDF to print", partial(_take, page, "pdf"), kind="chief")
        button("DXF, for a machine", partial(_take, page, "dxf"))
        button("SVG, to change", partial(_take, page, "svg"))
    text(
        "Open the PDF in a PDF viewer and print it at 100 % (actual size), with every kind of fitting to the page off."
    )
    text("Then measure the bars of every page once more. A browser shrinks what it prints: do not print this page.")


async def _take(page: StepPage, kind: str) -> None:
    try:
        order = order_to_take(page.desk.desk.document, today(), page.preferences.paper, page.units)
        make = (as_pdf, order) if kind == "pdf" else (as_zip, order, kind)
        made: Download = await call(page.state.workers, *make, what="The sheets").outcome()
    except ScribelineError as refusal:
        failure(refusal)
        return
    ui.download(made.data, made.name, made.media_type)
    left = f" Not in it: {', '.join(one.partition(':')[0] for one in made.left_out)}." if made.left_out else ""
    say(f"{made.name}: {made.pages} {'pages' if kind == 'pdf' else 'files'}.{left}")
    if kind == "pdf":
        number = len(page.desk.get("marking.printed", []))
        entry = printed_entry(order, made, ticked_at())
        page.desk.edit(f"marking.printed.{number}", entry, f"sheets printed: {made.pages} pages, {order.wishes.paper}")


def _printed(page: StepPage) -> None:
    """What was taken for printing before, with the state of record and plan that it shows."""
    place = ui.element("details").classes("more")

    def show(_: Sequence[str] = ()) -> None:
        printed = marking_of(page.desk.desk.document).get("printed", [])
        place.clear()
        place.set_visibility(bool(printed))
        with place:
            text(f"Taken for printing before: {len(printed)}", "summary")
            with ui.element("ul"):
                for one in reversed(printed[-20:]):
                    words = f"{one['at'][:16].replace('T', ' ')}: {one['pages']} pages, {one['paper']}, record and plan"
                    text(f"{words} {one['revision']}; correction: {one['printer']}", "li")

    page.desk.on_change(show)
    show()
