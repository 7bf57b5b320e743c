"""The plan at the bench: one step after the other, ticked with a big box, measured at its stops."""

from collections.abc import Sequence
from functools import partial

from nicegui import background_tasks, ui

from scribeline.errors import ScribelineError
from scribeline.tasks.bench import Ask, Bench, BenchStep, bench
from scribeline.tasks.bench_marks import (
    Mark,
    When,
    found_document,
    found_path,
    found_shown,
    judged,
    marks_of,
    may_tick,
    now_at,
    outside,
    strays,
    tick_path,
    ticked_at,
    when_words,
)
from scribeline.tasks.bench_rest import half_taken
from scribeline.tasks.bench_words import expected_words, line_words, stop_words, width_words
from scribeline.tasks.in_hand import plan_toml, record_toml
from scribeline.tasks.marking_in_hand import marking_of
from scribeline.units import in_inches, unit_of, with_inches
from scribeline.web.calls import call
from scribeline.web.drawing import DrawingOnPage
from scribeline.web.fields import Field, Typed
from scribeline.web.pages.mark_out.rest import RestPanel
from scribeline.web.shell import StepPage, Words, button, in_units_here, link, said, section, text

_TICKS: dict[When, str] = {"at_stop": "Cut to the stop line, no further", "at_end": "Done"}
_HEADS: dict[When, str] = {"at_stop": "At the stop line, measure", "at_end": "When it is done, measure"}


def build(page: StepPage) -> None:
    """Build the section."""
    with section("The work, in its order"):
        shown = _BenchOnPage(page)
    shown.load()


class _BenchOnPage:
    """All steps of the plan in hand; built anew where record or plan change, else only their marks."""

    def __init__(self, page: StepPage) -> None:
        self.page = page
        self.bench: Bench | None = None
        self.steps: list[_Step] = []
        self.made_of = ("", "")
        self.notice = ui.element("div").props("role=status")
        self.place = ui.element("div").classes("bench")
        self.rest = RestPanel(page)
        self.behind = ui.element("div")
        page.desk.on_change(self.changed)

    def changed(self, paths: Sequence[str]) -> None:
        if any(path.split(".")[0] in ("record", "plan") for path in paths):
            self.load()
        elif any(path.startswith("marking") for path in paths):
            self.show_marks()

    def load(self) -> None:
        """Work the cut list out, in a worker, and show it."""
        document = self.page.desk.desk.document
        try:
            made_of = record_toml(document), plan_toml(document)
        except ScribelineError as refusal:
            self.refuse("There is no cut list yet", str(refusal))
            return
        if not made_of[1]:
            self.refuse(
                "There is no plan yet", "Choose what is to be done: then its steps stand here, each with its stops."
            )
            return
        if made_of == self.made_of and self.bench is not None:
            self.show_marks()
            return
        self.made_of = made_of
        if self.bench is None:
            self.place.clear()
            with self.place:
                text("The steps are being worked out.", "p").classes("quiet").props("role=status")
        background_tasks.create(self._load(*made_of), name="cut list for the bench")

    async def _load(self, record: str, plan: str) -> None:
        job = await call(self.page.state.workers, bench, record, plan, self.page.units, what="The cut list").wait()
        if self.made_of != (record, plan):
            return
        if job.state != "done":
            self.refuse("There is no cut list yet", job.error or "")
            return
        self.bench = job.result
        self.build_steps()

    def refuse(self, what: str, why: str) -> None:
        self.bench, self.steps, self.made_of = None, [], ("", "")
        self.place.clear()
        self.rest.hide()
        with self.place, ui.element("div").classes("warning certain"):
            text(what, "h3")
            for line in said(why)[:12]:
                text(line)
            with ui.element("div").classes("row"):
                link("Go to Plan", self.page.url("plan"))
                link("Go to Measure", self.page.url("measure"))

    def build_steps(self) -> None:
        assert self.bench is not None
        self.place.clear()
        with self.place:
            for words in self.bench.said:
                text(in_units_here(words), "p").classes("warning certain")
            self.steps = [_Step(self, step) for step in self.bench.steps]
        self.show_marks()

    def show_marks(self) -> None:
        """Ticks, numbers and judgements as they stand in the work in hand."""
        if self.bench is None:
            return
        document = self.page.desk.desk.document
        marks = marks_of(document, self.bench)
        at = now_at(self.bench, marks)
        for step in self.steps:
            step.show(marks, at)
        self.rest.show(self.bench, marks)
        self.show_notice(at)
        self.show_behind()

    def show_notice(self, at: int) -> None:
        assert self.bench is not None
        desk = self.page.desk.desk
        lines = [
            f"Marked on a step that is not in the plan any more: {one}." for one in strays(desk.document, self.bench)
        ]
        undoable, redoable = (edit.label if edit else "" for edit in (desk.undoable, desk.redoable))
        if half_taken(undoable, redoable):
            lines.append(
                "The rest from here is only half taken back. Undo or redo until none of its three edits is left over."
            )
        if at > len(self.bench.steps):
            lines.append("Every step is done. Measure the engine again and keep it as a revision; then prove it.")
        self.notice.clear()
        with self.notice:
            for line in lines:
                text(line, "p").classes("warning")

    def show_behind(self) -> None:
        behind = marking_of(self.page.desk.desk.document).get("bench", {}).get("behind", [])
        self.behind.clear()
        if not behind:
            return
        with self.behind, ui.element("details").classes("more"):
            text("Done before the plan was taken up again", "summary")
            with ui.element("ul"):
                for one in behind:
                    done = "; ".join(one.get("done") or []) or "nothing ticked"
                    text(f"{when_words(one.get('taken_at', ''))}: {done}", "li")


class _Step:
    """One step: what to do, its stops, its boxes."""

    def __init__(self, whole: _BenchOnPage, step: BenchStep) -> None:
        self.whole, self.page, self.step = whole, whole.page, step
        self.ticks: dict[When, ui.checkbox] = {}
        self.reasons: dict[When, Words] = {}
        self.outside: dict[When, ui.element] = {}
        self.words: dict[tuple[When, str], Words] = {}
        self.opened: bool | None = None
        self.frame = ui.element("details").classes("step-sheet")
        with self.frame:
            with ui.element("summary"):
                text(str(step.number), "span").classes("step-sheet-number")
                with ui.element("span").classes("step-sheet-title"):
                    text(in_inches(step.title, self.page.units), "span")
                    self.state = text("", "span").classes("quiet")
            with ui.element("div").classes("step-sheet-body"):
                with ui.element("div").classes("step-sheet-work"):
                    self.build()
                bore = " drawing-of-bore" if step.lines or step.widths else ""
                with ui.element("div").classes(f"step-sheet-drawing{bore}"):
                    DrawingOnPage(lambda: step.drawing)

    def build(self) -> None:
        step = self.step
        text(in_units_here(f"{step.stage.capitalize()}: {step.what}."), "p").classes("quiet")
        if step.measure_first:
            text(step.measure_first, "p").classes("warning certain")
        if step.caution:
            text(in_units_here(step.caution), "p").classes("warning")
        with ui.element("ol").classes("doing"):
            for do, measure in step.instructions:
                with ui.element("li"):
                    text(in_units_here(do), "span")
                    if measure:
                        text(in_units_here(f"Measure before going on: {measure}."), "span").classes("measure-here")
        text(in_units_here(f"With {', '.join(step.tools)}. {step.skill.capitalize()}."), "p").classes("quiet")
        if step.undo:
            text(in_units_here(f"To take it back: {step.undo}."), "p").classes("quiet")
        self.build_lines()
        if step.at_stop:
            self.build_stop("at_stop", step.at_stop)
        self.build_stop("at_end", step.at_end)

    def build_lines(self) -> None:
        units = self.page.preferences.units
        for line in self.step.lines:
            _scribed(line_words(line, units))
        for width in self.step.widths:
            _scribed(width_words(width, units))
        if self.step.stop_mm is not None:
            text(stop_words(self.step.stop_mm, units), "p").classes("stop-words")

    def build_stop(self, when: When, asks: Sequence[Ask]) -> None:
        """A box to tick, and the numbers to measure there."""
        with ui.element("div").classes("stop"):
            if asks:
                text(_HEADS[when], "h3")
                asked = [ask for ask in asks if ask.asked] or list(asks)
                others = [ask for ask in asks if ask not in asked]
                with ui.element("div").classes("found"):
                    for ask in asked:
                        self.build_number(when, ask)
                if others:
                    with ui.element("details").classes("more"):
                        text(f"What else has moved: {len(others)} number{'s' * (len(others) > 1)}", "summary")
                        with ui.element("div").classes("found"):
                            for ask in others:
                                self.build_number(when, ask)
            self.outside[when] = ui.element("div").props("role=status")
            self.ticks[when] = ui.checkbox(_TICKS[when]).classes("tick-box")
            self.ticks[when].on_value_change(partial(self.tick, when))
            self.reasons[when] = text("", "p").classes("quiet")

    def build_number(self, when: When, ask: Ask) -> None:
        units = self.page.preferences.units
        unit = {"deg": "°", "mm": unit_of(units)}.get(ask.unit, ask.unit)
        with ui.element("div").classes("found-one"):
            text(ask.label, "p").classes("found-label")
            field = Field(
                self.page,
                found_path(self.step, when, ask),
                f"{ask.label}, {unit}",
                read=partial(self.read, ask),
                show=partial(found_shown, ask, units=units),
                numeric=True,
            )
            field.input.classes("big-number").props["label"] = unit
            field.input.props["aria-label"] = f"{ask.label}, {unit}"
            how = with_inches(f"{ask.how[:1].upper()}{ask.how[1:]}.", units)
            text(f"Expected {expected_words(ask, units)}. {how}", "p").classes("quiet")
            self.words[when, ask.place] = text("", "p").classes("judged").props("role=status")

    def read(self, ask: Ask, typed: str) -> Typed:
        return Typed(
            found_document(ask, typed, self.page.preferences.units), f"{ask.label}: {typed.strip() or 'taken out'}"
        )

    def tick(self, when: When) -> None:
        """Keep a tick, or take it back; one that must wait stays open."""
        document, bench = self.page.desk.desk.document, self.whole.bench
        if bench is None:
            return
        marks = marks_of(document, bench)
        box, was = self.ticks[when], bool(_at(marks[self.step.number], when))
        if box.value == was:
            return
        if may_tick(bench, marks, self.step.number):
            box.set_value(was)
            return
        words = f"{'cut to the stop line' if when == 'at_stop' else 'done'}: {self.step.title}"
        value = ticked_at() if box.value else None
        self.page.desk.edit(tick_path(self.step, when), value, words if box.value else f"not {words}")

    def show(self, marks: dict[int, Mark], at: int) -> None:
        """How far this step is."""
        assert self.whole.bench is not None
        step, mark = self.step, marks[self.step.number]
        why_not = may_tick(self.whole.bench, marks, step.number)
        for when, asks in (("at_stop", step.at_stop), ("at_end", step.at_end)):
            if when in self.ticks:
                self.show_stop(when, asks, mark, why_not)
        self.state.set_text(_state_words(mark, step.number, at))
        self.frame.classes(
            add="step-now" if step.number == at else "step-done" if mark.done_at else "step-later",
            remove="step-now step-done step-later",
        )
        if self.opened is not (step.number == at):
            self.opened = step.number == at
            self.frame.props("open" if self.opened else "", remove="" if self.opened else "open")

    def show_stop(self, when: When, asks: Sequence[Ask], mark: Mark, why_not: str) -> None:
        at = _at(mark, when)
        box = self.ticks[when]
        box.set_value(bool(at))
        box.set_enabled(not why_not)
        self.reasons[when].set_text(when_words(at) if at else in_inches(why_not, self.page.units))
        found = mark.found(when)
        for ask in asks:
            one = found.get(ask.place)
            verdict = judged(ask, one, self.page.preferences.units) if one else None
            words = self.words[when, ask.place]
            words.set_text(verdict.words if verdict else "")
            words.classes(add="" if verdict is None or verdict.within else "judged-not", remove="judged-not")
        off = outside(asks, found)
        self.outside[when].clear()
        if off:
            with self.outside[when], ui.element("div").classes("warning certain"):
                text("Not as expected. Measure once more, and look at what the number rests on.")
                text("If it stays: have the rest worked out again from here, before you cut on.")
                button("Work out the rest", self.whole.rest.work_out, kind="chief")


def _at(mark: Mark, when: When) -> str:
    return mark.stopped_at if when == "at_stop" else mark.done_at


def _state_words(mark: Mark, number: int, at: int) -> str:
    if mark.done_at:
        return f"done {when_words(mark.done_at)}"
    if mark.stopped_at:
        return f"at its stop line since {when_words(mark.stopped_at)}"
    return "now" if number == at else "later"


def _scribed(line: tuple[str, Sequence[tuple[str, str]], str]) -> None:
    """A line to be cut to: where it is now, where to stop, where it ends."""
    what, places, below = line
    with ui.element("div").classes("scribed"):
        text(what, "p").classes("scribed-what")
        with ui.element("dl"):
            for name, value in places:
                with ui.element("div").classes("scribed-stop" if name == "stop" else ""):
                    text(name, "dt")
                    text(value, "dd")
        text(below, "p").classes("quiet")
