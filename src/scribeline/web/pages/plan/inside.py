"""Inside one revolution at one crank speed: what the gas does, as it is and after the plan. Nothing until asked."""

from typing import Any

from nicegui import ui

from scribeline.tasks.plan_inside import STATE_HEADS, inside, inside_rpm, speed_typed
from scribeline.tasks.plan_kept import of_plan
from scribeline.web.pages.plan.bench import Bench
from scribeline.web.pages.plan.looks import Html, figure, fold, listed, paragraphs, stale_mark, table
from scribeline.web.pages.plan.work import Watch, start
from scribeline.web.shell import button, guarded, text
from scribeline.web.text_input import TextInput


class Inside:
    """The field, the work, and what came of it."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self._curve: dict[str, Any] | None = None
        with fold("Inside one revolution", name="inside"):
            text(
                "What the gas does in cylinder, crankcase, ports and pipe at one crank speed: pressures, flows, "
                "temperatures and purity through one turn, and the waves that run along the pipe.",
                "p",
            ).classes("quiet")
            with ui.element("div").classes("row"):
                self._rpm = TextInput("inside one revolution at, rev/min", value=self._usual())
                self._rpm.props("outlined square stack-label inputmode=decimal autocomplete=off").classes("field wide")
                self._rpm.on("keydown.enter", lambda: guarded(self._go))
                button("Look inside", lambda: guarded(self._go))
            self._watch = Watch(bench, "inside")
            self._shown = Html()
            with fold("What happens inside, in numbers", name="inside in numbers") as self._in_numbers:
                self._numbers = Html()
            self._in_numbers.set_visibility(False)
        self._proposed = self._usual()
        self._watch.follow(self._show)
        bench.on_kept(self._kept)

    def curve(self, document: dict[str, Any] | None) -> None:
        """Propose the speed of most power of the curve that is shown, unless another one was typed."""
        self._curve = document
        before, self._proposed = self._proposed, self._usual()
        if self._rpm.value == before != self._proposed:
            self._rpm.set_value(self._proposed)

    def _usual(self) -> str:
        return f"{inside_rpm(self._curve, self.bench.kept.plan.wanted.goal or '', self.bench.record):g}"

    def _of(self) -> str:
        return of_plan(self.bench.kept.record, self.bench.kept.plan)

    def _kept(self) -> None:
        self.curve(self._curve)  # the goal may have moved
        self._watch.show_kept()

    def _go(self) -> None:
        bench, speed = self.bench, speed_typed(str(self._rpm.value or ""))
        what = "The look inside one revolution"
        job = start(
            bench, "inside", inside, self._of(), bench.kept.record, bench.kept.plan, speed, what=what, quick=True
        )
        self._watch.attend(job)
        self._watch.begun("one revolution")

    def _show(self, document: dict[str, Any] | None) -> None:
        self._in_numbers.set_visibility(document is not None)
        if document is None:
            return
        stale = document["of"] != self._of()
        drawings = "".join(figure(one, stale) for one in document["drawings"][self.bench.page.units])
        head = f"<h3>Inside one revolution at {document['speed_rpm']:g} rev/min</h3>"
        self._shown.show(
            stale_mark(stale) + head + paragraphs(document["said"]) + listed(document["careful"])
            + f'<div class="inside-drawings">{drawings}</div>'
        )  # fmt: skip
        at_events = "".join(
            table(STATE_HEADS, rows, f"At every event, {which}") for which, rows in document["states"].items()
        )
        self._numbers.show(table(document["heads"], document["rows"], "The revolution in numbers") + at_events)
