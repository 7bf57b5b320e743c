"""A pipe designed for a crank speed, to be put among the parts at hand."""

from functools import partial
from html import escape
from typing import Any

from nicegui import ui

from scribeline.errors import ScribelineError
from scribeline.tasks.pipe_on_page import PipeShown, pipe_shown, pipe_wanted
from scribeline.tasks.plan_aim import with_pipe
from scribeline.units import unit_of
from scribeline.web.drawing import DrawingOnPage
from scribeline.web.pages.plan.bench import Bench
from scribeline.web.pages.plan.looks import fold
from scribeline.web.shell import button, cautions, failure, guarded, say, text
from scribeline.web.text_input import TextInput
from scribeline.web.workers import Job

COMPARED_WITHIN_S = 60.0
"""How long a stopped search may take to compare its best; judgement: some seconds, on a machine with other work."""


def _stopped(job: Job) -> str:
    if job.result is None:
        return "Stopped, as asked, before any pipe was compared with the fitted one: there is none to show."
    return "Stopped, as asked. Below is the best pipe so far."


class DesignedPipe:
    """What is asked for, how far the work is, and the pipe that came of it."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self._job: Job | None = None
        unit = unit_of(bench.page.units)
        text("Or have a pipe designed: by the published rules, and from there searched for on the simulator.")
        with ui.element("div").classes("row"):
            self._rpm = self._field("for crank speed, rev/min", f"{bench.record.speed_rpm:g}")
            self._longest = self._field(f"longest that fits, {unit}")
            self._widest = self._field(f"widest that fits, outside, {unit}")
        self._wide = ui.checkbox("Power over a wide range, rather than most in a band")
        self._rules = ui.checkbox("By the published rules alone: at once, and not simulated")
        with ui.element("div").classes("row"):
            self._begin = button("Design a pipe", lambda: guarded(self.begin))
            self._stop = button("Stop", self._enough)
        self._words = text("", "p").props("role=status")
        self._place = ui.element("div")
        self._stop.set_visibility(False)
        bench.page.client.on_delete(self.end)

    def _field(self, label: str, value: str = "") -> TextInput:
        made = TextInput(label, value=value)
        return made.props("outlined square stack-label inputmode=decimal autocomplete=off").classes("field")

    def begin(self) -> None:
        """Have it designed; what is typed wrongly is refused before."""
        units = self.bench.page.units
        rpm, longest, widest = (str(one.value or "") for one in (self._rpm, self._longest, self._widest))
        wide, rules_only = bool(self._wide.value), bool(self._rules.value)
        wanted = pipe_wanted(rpm, longest, widest, units, wide=wide, rules_only=rules_only)
        self.end()
        self._place.clear()
        self._stop.set_visibility(True)
        self._words.set_text(
            "The pipe is being designed: some minutes where it is searched for. You can go on working."
        )
        workers = self.bench.page.state.workers
        self._job = job = workers.start(pipe_shown, self.bench.record, wanted, units, what="The pipe")
        job.on_progress(lambda told: self._words.set_text(f"{told[0]}: {told[1]} of at most {told[2]}"))
        job.on_end(self._ended)

    def _enough(self) -> None:
        """Stop the search; the best it has is still compared with the fitted pipe, and shown."""
        if self._job is not None:
            self._stop.set_visibility(False)
            self._words.set_text("Stopping: the best so far is compared with the fitted pipe.")
            self._job.stop(COMPARED_WITHIN_S)

    def end(self) -> None:
        """Stop it; nobody waits for what it has."""
        if self._job is not None:
            self._job.stop()

    def _ended(self, job: Job) -> None:
        if job is not self._job:
            return
        self._job = None
        self._stop.set_visibility(False)
        self._words.set_text(_stopped(job) if job.state == "stopped" else "")
        if isinstance(job.result, PipeShown):
            self._show(job.result)
        elif job.error and job.state != "stopped":
            with self._place:
                failure(job.error)

    def _show(self, found: PipeShown) -> None:
        with self._place:
            DrawingOnPage(lambda: found.drawing)
            with ui.element("ul"):
                for words in found.said:
                    text(words, "li")
            button(f"Put the {found.name} among the parts at hand", partial(self._take, found), kind="chief")
            with fold("All of it, as the command line says it", name="pipe report"):
                opening = '<pre class="said-text" tabindex="0" role="group" aria-label="The report">'
                ui.html(f"{opening}{escape(found.report)}</pre>", sanitize=False)
            cautions("pipe", folded=True)

    def _take(self, found: PipeShown) -> None:
        try:
            box: dict[str, Any] = with_pipe(self.bench.document.get("box"), found.name, found.record)
        except ScribelineError as refusal:
            failure(refusal)
            return
        if self.bench.put("box", box, f"{found.name} is at hand"):
            say("It is at hand now: add the operation Swap pipe, or let it search.")
