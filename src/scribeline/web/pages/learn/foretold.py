"""Predictions and what came of them: the picture, the sentences, and the forms with which both are kept."""

from collections.abc import Callable

from nicegui import ui

from scribeline.errors import ScribelineError, SheetError, TypedValueError
from scribeline.tasks.history import ledger_drawing
from scribeline.tasks.inline_drawings import InlineDrawing, inline_drawing
from scribeline.tasks.ledger import leave_out
from scribeline.tasks.ledger_beside import set_beside, set_revision_beside, set_trial_beside
from scribeline.tasks.ledger_predicting import (
    keep_plan_predictions,
    keep_prediction,
    keep_promised,
    plan_of_work,
    road_predictions_of,
)
from scribeline.tasks.ledger_text import promise_text, taught
from scribeline.units import read_quantity
from scribeline.web.drawing import DrawingOnPage
from scribeline.web.pages.learn.book import Book, listed
from scribeline.web.shell import button, failure, in_units_here, text
from scribeline.web.text_input import TextInput


def build(book: Book) -> None:
    """Build it."""
    figure = DrawingOnPage(lambda: _drawing(book))
    place = ui.element("div")

    def show() -> None:
        figure.redraw()
        place.clear()
        with place:
            _words(book)

    show()
    book.on_change(show)
    with ui.element("div").classes("forms"):
        _keep(book)
        _measured(book)
        _left_out(book)


def _drawing(book: Book) -> InlineDrawing | str:
    try:
        return inline_drawing(ledger_drawing(book.told.ledger))
    except SheetError:
        return "Nothing is foretold yet. Write down what you expect before you cut or drive: afterwards it is too late."


def _words(book: Book) -> None:
    ledger = book.told.ledger
    if ledger.promises:
        with ui.element("details").classes("fold"):
            text(f"All {len(ledger.promises)} in words", "summary")
            ui.html(listed([in_units_here(promise_text(one)) for one in ledger.promises]), sanitize=False)
    for heading, sentences in taught(ledger):
        text(heading[0].upper() + heading[1:], "h3")
        ui.html(listed([in_units_here(one) for one in sentences]), sanitize=False)


def _form(summary: str) -> ui.element:
    made = ui.element("details").classes("fold")
    with made:
        text(summary, "summary")
    return made


def _input(label: str, numeric: bool = False, hint: str = "") -> TextInput:
    field = TextInput(label, draft=f"learn: {label}").props(
        f"outlined square stack-label autocomplete=off inputmode={'decimal' if numeric else 'text'}"
    )
    if hint:
        field.props["hint"] = hint
    return field.classes("field")


def _number(field: TextInput) -> float:
    """A typed number without unit; TypedValueError that names the field for what is none, or could be two."""
    try:
        return read_quantity(field.value or "", "ratio").value
    except TypedValueError as refusal:
        raise TypedValueError(f"{field.props['label']}: {refusal}") from None


def _keep(book: Book) -> None:
    with _form("Write down what you expect"):
        with ui.element("div").classes("row"):
            what = _input("What is foretold", hint="such as: top speed, or 25 to 50 km/h")
            unit = _input("Unit", hint="s, km/h, kW, mm, deg")
            value, low, high = (
                _input("Value you expect", True), _input("At least", True, "19 times of 20"), _input("At most", True),
            )  # fmt: skip

        async def keep() -> None:
            try:
                numbers = [_number(field) for field in (value, low, high)]
            except ScribelineError as refusal:
                failure(refusal)
                return
            words = (what.value or "").strip()
            if await book.write(keep_prediction, words, *numbers, (unit.value or "").strip(), done="Written down."):
                for field in (what, unit, value, low, high):
                    field.set_value("")

        async def keep_plan() -> None:
            try:
                plan = plan_of_work(book.page.desk.desk.document)
            except ScribelineError as refusal:
                failure(refusal)
                return
            await book.write(keep_plan_predictions, plan, done="What the plan says is written down.")

        with ui.element("div").classes("row"):
            button("Write it down", keep, kind="chief")
            button("Write down what the plan in hand says", keep_plan)
        text("Or let the simulation foretell the road", "h3")
        with ui.element("div").classes("row"):
            gates = _input("Gates", hint="such as 25 to 50 km/h; several with commas between")
            start = button("Simulate, and write it down", lambda: book.soon(drive()))
        how_far = text("", "p").classes("quiet")

        async def drive() -> None:
            if not book.told.revisions:
                failure("There is no revision to simulate.\nwhat to do: keep the record first")
                return
            revision = book.told.revisions[-1]
            wanted = [one.strip() for one in (gates.value or "").split(",") if one.strip()]
            job = book.page.state.workers.start(road_predictions_of, revision, wanted, what="The simulation")
            job.on_progress(lambda told: how_far.set_text(f"{told[0]} of {told[1]} speeds simulated"))
            start.set_enabled(False)
            await job.wait()
            start.set_enabled(True)
            how_far.set_text("")
            with start:
                if job.state == "done":
                    await book.write(keep_promised, job.result, revision=revision.number, done="Written down.")
                elif job.error:
                    failure(job.error)

        text("It cannot be changed afterwards, only left out with a reason.").classes("quiet")


def _measured(book: Book) -> None:
    with _form("Set beside what was measured"):
        trials = Named(book, "A day of test runs", lambda: {
            one.ref: one.words for one in book.told.events if one.kind == "runs"
        })  # fmt: skip
        setup = _input("Which setup was foretold", hint="where the day had several")

        async def of_trial() -> None:
            if not trials.value:
                failure("No day of test runs is chosen.\nwhat to do: choose one; runs come in at the step Prove")
                return
            await book.write(
                set_trial_beside, trials.value, setup=(setup.value or "").strip() or None, done="Set beside."
            )

        async def of_record() -> None:
            await book.write(set_revision_beside, done="The latest revision is set beside what plans said.")

        with ui.element("div").classes("row"):
            button("Set these runs beside", of_trial, kind="chief")
            button("Set the latest revision beside its plan", of_record)
        text("Or type one value", "h3")
        open_ones = Named(book, "Prediction", lambda: {
            one.number: promise_text(one) for one in book.told.ledger.promises if not one.left_out
        })  # fmt: skip
        with ui.element("div").classes("row"):
            value, plus_minus = _input("Measured", True), _input("Its +/-", True)
            seen = _input("Where it was seen")

        async def typed() -> None:
            try:
                numbers = [_number(field) for field in (value, plus_minus)]
            except ScribelineError as refusal:
                failure(refusal)
                return
            if not open_ones.value:
                failure("No prediction is chosen.\nwhat to do: choose the one that this value belongs to")
                return
            if await book.write(
                set_beside, int(open_ones.value), *numbers, seen_in=(seen.value or "").strip(), done="Set beside."
            ):
                for field in (value, plus_minus, seen):
                    field.set_value("")

        button("Set this value beside", typed)


def _left_out(book: Book) -> None:
    with _form("Leave something out"):
        which = Named(book, "What", lambda: _entries(book))
        because = _input("Because", hint="it stays readable, with this reason")

        async def do() -> None:
            if not which.value:
                failure("Nothing is chosen.\nwhat to do: choose what shall not count any more")
                return
            if await book.write(leave_out, int(which.value), because.value or "", done="Left out."):
                because.set_value("")

        button("Leave it out", do)


def _entries(book: Book) -> dict[int, str]:
    found = {}
    for one in book.told.ledger.promises:
        if one.left_out:
            continue
        found[one.number] = f"{one.number}: foretold, {one.prediction.what}"
        if one.measured is not None:
            found[one.measured.number] = f"{one.measured.number}: measured, {one.prediction.what}"
    found |= {one.number: f"{one.number}: lesson, {one.note}"[:80] for one in book.told.ledger.lessons}
    return dict(sorted(found.items()))


class Named:
    """A field to choose one of what is there now."""

    def __init__(self, book: Book, label: str, options: Callable[[], dict[int, str] | dict[str, str]]) -> None:
        self._options = options
        self._field = ui.select(options(), label=label).props("outlined square stack-label").classes("field field-wide")
        book.on_change(self._show)

    @property
    def value(self) -> str | int | None:
        """What is chosen."""
        value: str | int | None = self._field.value
        return value

    def _show(self) -> None:
        options = self._options()
        value = self._field.value if self._field.value in options else None
        self._field.set_options(options, value=value)
