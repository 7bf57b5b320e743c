"""The printer, proved by its check bars before a line of it is trusted."""

from collections.abc import Sequence
from functools import partial

from nicegui import ui

from scribeline.errors import ScribelineError
from scribeline.tasks.marking_in_hand import marking_of
from scribeline.tasks.printer_check import BARS, PrinterCheck, bar_typed, check_page_pdf, how_to_measure, printer_check
from scribeline.tasks.sheet_order import PAPER_NAMES, paper_in, today
from scribeline.units import Units, typed_shown, unit_of
from scribeline.web.calls import call
from scribeline.web.drawing import DrawingOnPage
from scribeline.web.fields import Field, Typed
from scribeline.web.shell import StepPage, button, failure, in_units_here, section, text

_WAYS = (("across", "short"), ("up", "long"))
_STAMPS = {True: "proved", False: "not proved"}


def build(page: StepPage) -> None:
    """Build the section."""
    with (
        section(
            "1  Prove the printer", note="Two per cent too small ruins a cylinder: measure before you trust a line."
        ),
        ui.element("div").classes("beside"),
    ):
        with ui.element("div").classes("beside-main"):
            _paper(page)
            button("Check page, as PDF", partial(_check_page, page))
            text(
                f"Print it at 100 % (actual size) on the paper of the sheets, and measure both {BARS[page.units]} bars."
            )
            _bars(page, "bars", "")
            _verdict(page)
        DrawingOnPage(how_to_measure)


def _paper(page: StepPage) -> None:
    chosen = ui.radio(list(PAPER_NAMES), value=_paper_now(page)).props('inline aria-label="Paper in the printer"')

    def choose() -> None:
        if chosen.value != _paper_now(page):
            page.desk.edit("marking.paper", chosen.value, f"paper {chosen.value}")

    def show(_: Sequence[str]) -> None:
        chosen.set_value(_paper_now(page))

    chosen.on_value_change(choose)
    page.desk.on_change(show)


def _paper_now(page: StepPage) -> str:
    return paper_in(page.desk.desk.document, page.preferences.paper)


def _bars(page: StepPage, key: str, when: str) -> list[Field]:
    """The two fields for what the bars of one print measured."""
    with ui.element("div").classes("row"):
        return [
            Field(
                page,
                f"marking.{key}.{way}",
                f"Bar along the {edge} edge{when}, {unit_of(page.units)}",
                read=partial(_read, way, edge, page.units),
                show=partial(typed_shown, units=page.units),
                numeric=True,
            )
            for way, edge in _WAYS
        ]


def _read(way: str, edge: str, units: Units, typed: str) -> Typed:
    return Typed(bar_typed(typed, way, units), f"check bar, {edge} edge, {typed.strip() or 'taken out'}")


def _verdict(page: StepPage) -> None:
    """What the bars say, and the second pair of fields where a correction has to prove itself."""
    said = ui.element("div").classes("stamp").props("role=status")
    again = ui.element("div")
    with again:
        button("Corrected check page", partial(_check_page, page))
        _bars(page, "proof", ", printed again")

    def show(_: Sequence[str] = ()) -> None:
        check = printer_check(marking_of(page.desk.desk.document), page.units)
        said.clear()
        said.classes(remove="stamp-yes stamp-no", add="stamp-yes" if check.trusted else "stamp-no")
        with said:
            text(_STAMPS[check.trusted], "strong")
            for line in in_units_here(check.words).splitlines():
                text(line.strip(), "span")
        again.set_visibility(_needs_proof(check))

    page.desk.on_change(show)
    show()


def _needs_proof(check: PrinterCheck) -> bool:
    return check.state in ("corrected", "still off", "proved")


async def _check_page(page: StepPage) -> None:
    document = page.desk.desk.document
    try:
        correction = printer_check(marking_of(document)).printer
        job = call(page.state.workers, check_page_pdf, _paper_now(page), correction, today(), what="The check page")
        data = await job.outcome()
    except ScribelineError as refusal:
        failure(refusal)
        return
    ui.download(data, f"check-page-{_paper_now(page)}.pdf", "application/pdf")
