"""The rest of the plan from what was measured: worked out, shown beside what was planned, taken over or left."""

from collections.abc import Mapping, Sequence

from nicegui import ui

from scribeline.errors import ScribelineError
from scribeline.tasks.bench import Bench
from scribeline.tasks.bench_marks import Mark, marks_of, ticked_at
from scribeline.tasks.bench_rest import TAKING, RestShown, Row, rest_shown, taken_over
from scribeline.tasks.in_hand import plan_toml, record_toml
from scribeline.tasks.marking_in_hand import marking_of
from scribeline.web.calls import call
from scribeline.web.shell import StepPage, button, failure, guarded, said, say, section, text


class RestPanel:
    """The part of the page below the steps."""

    def __init__(self, page: StepPage) -> None:
        self.page = page
        self.bench: Bench | None = None
        self.made_of: object = None
        with section("The rest from here") as _, ui.element("div") as self.whole:
            self.ask = ui.element("div")
            with self.ask:
                text(
                    "What you measured may change what is left: the same timing and the same squish, from where the "
                    "metal really is."
                )
                self.button = button("Work out the rest", self.work_out)
                self.why = text("", "p").classes("quiet")
            self.shown = ui.element("div").props('role=region aria-label="The rest from here" tabindex="-1"')

    def hide(self) -> None:
        """There is no plan to take up."""
        self.bench = None
        self.whole.set_visibility(False)

    def show(self, bench: Bench, marks: Mapping[int, Mark]) -> None:
        """Offer it where something was measured; what was shown goes where something changed since."""
        self.bench = bench
        self.whole.set_visibility(True)
        measured = sum(len(mark.at_stop) + len(mark.at_end) for mark in marks.values())
        self.button.set_enabled(measured > 0)
        self.why.set_text("" if measured else "Nothing was measured at a stop yet.")
        if self.made_of is not None and self.made_of != self._now():
            self.made_of = None
            self.shown.clear()

    def _now(self) -> tuple[object, ...]:
        document = self.page.desk.desk.document
        return record_toml(document), plan_toml(document), marking_of(document).get("bench")

    async def work_out(self) -> None:
        """Work it out, in a worker, and show it."""
        if self.bench is None:
            return
        now = self._now()
        marks = marks_of(self.page.desk.desk.document, self.bench)
        try:
            rest = await call(
                self.page.state.workers, rest_shown, now[0], now[1], marks, self.page.units, what="The rest of the plan"
            ).outcome()
        except ScribelineError as refusal:
            failure(refusal)
            return
        self.made_of = now
        self.shown.clear()
        with self.shown:
            self._draw(rest)
        self.page.client.run_javascript(f"getHtmlElement({self.shown.id})?.focus()")

    def _draw(self, rest: RestShown) -> None:
        if rest.refusal:
            with ui.element("div").classes("warning certain"):
                text("The plan cannot be reached from here", "h3")
                for line in said(rest.refusal):
                    text(line)
            return
        for words in rest.notes:
            text(words, "p").classes("note")
        if not rest.notes:
            text("Everything left stays as it was planned.", "p").classes("note")
        for words in rest.warnings:
            text(words, "p").classes("warning certain")
        _table("The steps that are left", ("as planned", "from here"), rest.steps, with_name=False)
        _table("The lines still to be cut to", ("as planned", "from here"), rest.lines)
        _table("Where the engine ends", ("as planned", "from here"), rest.ends)
        with ui.element("details").classes("more"):
            text(f"{rest.measured} numbers were measured; {len(rest.carried)} follow from the steps alone", "summary")
            text("These follow from what was done and were not measured since. Measure them when you can:")
            with ui.element("ul"):
                for one in rest.carried:
                    text(one, "li")
        text("Taking it over puts the engine as it is now into the record and leaves the steps above as the plan.")
        with ui.element("div").classes("row"):
            button("Take this as the plan", lambda: guarded(lambda: self._take(rest)), kind="chief")
            button("Leave the plan as it is", self._leave)

    def _take(self, rest: RestShown) -> None:
        if self.bench is None or self.made_of != self._now():
            say("Something has changed since: work it out once more.")
            return
        document = self.page.desk.desk.document
        marks = marks_of(document, self.bench)
        done = [step.title for step in self.bench.steps if marks[step.number].done_at]
        self._leave()
        if not self.page.desk.edit_all(taken_over(document, rest, done, ticked_at()), TAKING):
            return
        say("The rest from here is the plan now. Print the wrap and the cut list anew.")

    def _leave(self) -> None:
        self.made_of = None
        self.shown.clear()


def _table(title: str, heads: tuple[str, str], rows: Sequence[Row], *, with_name: bool = True) -> None:
    """What it was beside what it becomes; a row that changes says so by its weight and by a word."""
    if not rows:
        return
    with ui.element("table").classes("before-after"):
        text(title, "caption")
        with ui.element("thead"), ui.element("tr"):
            if with_name:
                text("what", "th").props("scope=col")
            for head in heads:
                text(head, "th").props("scope=col")
        with ui.element("tbody"):
            for row in rows:
                changes = row.was != row.becomes
                with ui.element("tr").classes("changes" if changes else ""):
                    if with_name:
                        text(row.what, "th").props("scope=row")
                    for head, words in zip(heads, (row.was or "-", row.becomes if changes else "stays"), strict=True):
                        text(words, "td").props["data-head"] = head
