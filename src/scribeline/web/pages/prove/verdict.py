"""The verdict: setups compared, every run, pictures and tables to take away, and what the simulation had promised."""

import asyncio
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from html import escape
from typing import Any

from nicegui import events, ui

from scribeline.errors import ScribelineError
from scribeline.tasks.inline_drawings import inline_drawing
from scribeline.tasks.prediction_drawings import prediction_drawings
from scribeline.tasks.trial_prediction import driven_record, predict_in_worker, prediction_text, seen_in, timed_gates
from scribeline.tasks.trials import drop_run, show_trial, trials_of
from scribeline.tasks.verdict_drawings import verdict_drawings
from scribeline.tasks.verdict_files import picture, verdict_csv, verdict_xlsx
from scribeline.tasks.verdict_text import grounds_of, measure_rows, remarks_of, run_rows, sentences_of, warnings_of
from scribeline.tasks.verdicts import Compared, compare_shown, setups_in
from scribeline.web.drawing import DrawingOnPage
from scribeline.web.latest import Latest
from scribeline.web.pages.prove.open_trial import OpenTrial
from scribeline.web.shell import button, failure, said, text
from scribeline.web.text_input import TextInput

STANDARDS = {"": "as driven", "iso-1585": "ISO 1585", "sae-j1349": "SAE J1349"}
BESIDE = ("order", "direction", "day", "pair")
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


def verdict(trial: OpenTrial) -> None:
    """Choices on top, then what they give."""
    _Verdict(trial)


class _Verdict:
    """What is compared with what, and what came of it."""

    def __init__(self, trial: OpenTrial) -> None:
        self.trial = trial
        query = trial.page.query
        others = [
            one.trial.name for one in trials_of(trial.page.build, where=trial.where) if one.trial.name != trial.name
        ]
        self.compared: Compared | None = None
        self.place = ui.element("div").props("aria-live=polite")
        with ui.element("details"), _summary("Compare otherwise"), ui.element("div").classes("fields"):
            kept = [one for one in query.get("with", "").split("\n") if one in others]
            self.others = ui.select(others, value=kept, multiple=True, label="Together with these trials")
            self.base = ui.select([], label="Held against")
            self.measure = ui.select({"": "every measure"}, value="", label="Measure")
            self.correction = ui.select(STANDARDS, value=query.get("air") or "", label="Power in standard air")
            self.without = ui.select(list(BESIDE), value=[], multiple=True, label="Leave out of the comparison")
        for one in (self.others, self.base, self.measure, self.correction, self.without):
            one.props("outlined square stack-label").classes("field")
            one.on_value_change(self.chosen)
        self.wanted_base = query.get("base", "")
        self.rest = ui.element("div")
        self.promised = ui.element("div")  # apart: a simulation goes on, and what it gave stays, while times are typed
        self._busy = False
        ui.on("prove_run", self.ask)
        self.latest = Latest(trial.page.client, self.work_out, "the verdict")
        trial.on_change(self.latest.soon)

    # --- working it out

    def chosen(self) -> None:
        """Another choice was made on the page."""
        if self._busy or self.trial.shown is None:
            return
        self.wanted_base = self.base.value or ""
        self.trial.remember(
            **{"with": "\n".join(self.others.value or []), "base": self.wanted_base, "air": self.correction.value or ""}
        )
        self.latest.soon()

    async def work_out(self) -> None:
        """Compare, and show it; what is about a trial that has changed since is let go, for it is compared again."""
        correction = self.correction.value or None
        again = [self.trial.name] if correction else []
        try:
            shown = [] if again else [self.trial.now]
            for name in (*again, *(self.others.value or [])):
                shown.append(await asyncio.to_thread(show_trial, name, correction=correction, where=self.trial.where))
            if self.latest.overtaken:
                return
            setups = setups_in(shown)
            self._busy = True
            base = self.wanted_base if self.wanted_base in setups else (setups[0] if setups else None)
            self.base.set_options(setups, value=base)
            self._busy = False
            order = [base, *(one for one in setups if one != base)] if base else []
            self.compared = await asyncio.to_thread(
                compare_shown, shown, setups=order, leave_out=self.without.value or (),
                measure=self.measure.value or None,
            )  # fmt: skip
        except ScribelineError as refusal:
            self.compared = None
            self.place.clear()
            self.rest.clear()
            with self.place:
                for line in said(refusal):
                    text(line)
            return
        finally:
            self._busy = False
        if not self.latest.overtaken:
            await self.show(self.compared)

    # --- the page

    async def show(self, compared: Compared) -> None:
        """Sentences, drawings, tables, things to take away."""
        drawings: list[Any] = []
        why = ""
        try:
            drawings = await asyncio.to_thread(verdict_drawings, compared)
        except ScribelineError as refusal:
            why = str(refusal)
        if self.latest.overtaken:
            return
        self._busy = True
        measures = {"": "every measure"} | {one.key: one.key for one in compared.comparison.measures}
        self.measure.set_options(measures | ({self.measure.value: self.measure.value} if self.measure.value else {}))
        self._busy = False
        self.place.clear()
        with self.place:
            for sentence in sentences_of(compared):
                text(sentence).classes("verdict-sentence")
            for warning in warnings_of(compared):
                text(warning).classes("warning")
        self.rest.clear()
        with self.rest:
            for line in said(why):
                text(line)
            transparent = ui.checkbox("Pictures without paper, to be laid over a film")
            with ui.element("div").classes("drawings"):
                for drawing in drawings:
                    with ui.element("div"):
                        DrawingOnPage(partial(inline_drawing, drawing))
                        self.take_away(drawing, transparent)
            text("Measure by measure", "h3")
            _table(measure_rows(compared), "Measure by measure")
            for remark in remarks_of(compared):
                text(remark).classes("quiet")
            with ui.element("details"):
                text("What it rests on", "summary")
                with ui.element("ul"):
                    for ground in grounds_of(compared):
                        text(ground, "li")
                    for one in compared.said:
                        text(one, "li")
            text("Every run", "h3")
            _runs(compared)
            with ui.element("div").classes("row"):
                button("Tables as CSV", lambda: ui.download.content(verdict_csv(compared), "verdict.csv", "text/csv"))
                button("Tables as a workbook (XLSX)", partial(self.workbook, compared))
        if not self.promised.default_slot.children:
            with self.promised:
                text("What the simulation had promised", "h3")
                self.predicted()

    def take_away(self, drawing: Any, transparent: ui.checkbox) -> None:
        """A drawing as a file."""

        async def take(kind: str) -> None:
            try:
                data = await asyncio.to_thread(picture, drawing, kind, transparent=bool(transparent.value))
            except ScribelineError as refusal:
                with self.trial.page.client:  # the place of the button may have been drawn anew meanwhile
                    failure(refusal)
                return
            with self.trial.page.client:
                ui.download.content(data, f"{drawing.name}{kind}")

        with ui.element("div").classes("row"):
            for words, kind in (("This picture as PNG", ".png"), ("as SVG", ".svg")):
                button(words, partial(take, kind)).props["aria-label"] = f"{words}: {drawing.title}"

    async def workbook(self, compared: Compared) -> None:
        """The tables as a workbook."""
        book = await asyncio.to_thread(verdict_xlsx, compared)
        with self.trial.page.client:
            ui.download.content(book, "verdict.xlsx", XLSX)

    # --- dropping and taking back

    async def ask(self, event: events.GenericEventArguments) -> None:
        """Ask why a run is dropped or taken back, then do it."""
        name, back = str(event.args.get("run", "")), bool(event.args.get("back"))
        with ui.dialog(value=True).props('aria-label="A run"') as dialog, ui.element("div").classes("panel"):
            text(f"{'Take back' if back else 'Drop'} run {name}", "h2")
            text("It stays in every table and picture. The reason stays in the notebook.")
            reason = TextInput("Because").props("outlined square stack-label autofocus").classes("field")

            async def do() -> None:
                dialog.close()
                await self.trial.do(drop_run, self.trial.name, name, str(reason.value or ""), back=back)

            with ui.element("div").classes("row"):
                button("Take it back" if back else "Drop it", do, kind="chief")
                button("Leave it", dialog.close)

    # --- what had been promised

    def predicted(self) -> None:
        """The simulation beside the runs as they are when it is done; it takes a while, and can be stopped."""
        place = ui.element("div")

        async def begin() -> None:
            shown = self.trial.now
            try:
                driven_record(shown)
            except ScribelineError as refusal:
                failure(refusal)
                return
            job = self.trial.page.state.workers.start(
                predict_in_worker, shown.record_toml, shown.state.trial.build_name or "", timed_gates(shown),
                shown.state.air, shown.vehicle, what="The simulation",
            )  # fmt: skip
            place.clear()
            with place, ui.element("div").classes("row"):
                going = text("Simulating", "span")
                button("Stop", job.stop)
            job.on_progress(lambda done: going.set_text(f"Simulating: {done[0]} of {done[1]} speeds"))
            await job.wait()
            place.clear()
            with place:
                if job.state != "done":
                    for line in said(job.error or "Stopped."):
                        text(line)
                    return
                beside, compared = seen_in(self.trial.now), self.compared
                if compared is None:
                    text("There is no verdict to set it beside any longer.")
                    return
                with ui.element("div").classes("drawings"):
                    for drawing in prediction_drawings(compared, [(job.result, beside)]):
                        with ui.element("div"):
                            DrawingOnPage(partial(inline_drawing, drawing))
                ui.html(f'<pre class="said-text">{escape(prediction_text(job.result, beside))}</pre>', sanitize=False)

        with place:
            text("The kept record, simulated and driven through its gearing: about a minute.").classes("quiet")
            button("Simulate it and set its times beside", begin)


@contextmanager
def _summary(words: str) -> Iterator[None]:
    text(words, "summary")
    yield


def _table(rows: list[tuple[str, ...]], name: str) -> None:
    head = "".join(f'<th scope="col">{escape(one)}</th>' for one in rows[0])
    body = "".join("<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in row) + "</tr>" for row in rows[1:])
    table = f'<table class="ruled"><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>'
    ui.html(f'<div class="sliding" tabindex="0" role="group" aria-label="{name}">{table}</div>', sanitize=False)


def _runs(compared: Compared) -> None:
    rows = run_rows(compared)
    several = len(compared.trials) > 1
    names = [*rows[0][:2], "correct", *rows[0][2:-1], "remark"]
    head = "".join(f'<th scope="col">{escape(one)}</th>' for one in names)
    body = []
    for row in rows[1:]:
        dropped = row[-1].startswith("dropped")
        cells = [f"<td>{escape(cell)}</td>" for cell in row]
        verb, name = ("Take back" if dropped else "Drop"), f"{row[0]} {row[1]}"
        knob = (
            ""
            if several
            else f'<button type="button" class="in-table" data-run="{escape(name)}" data-back="{int(dropped)}" '
            f'aria-label="{verb} run {escape(name)}">{verb}</button>'
        )
        cells.insert(2, f"<td>{knob}</td>")
        body.append(f'<tr class="{"dropped" if dropped else ""}">{"".join(cells)}</tr>')
    table = f'<table class="ruled runs"><thead><tr>{head}</tr></thead><tbody>{"".join(body)}</tbody></table>'
    ui.html(f'<div class="sliding" tabindex="0" role="group" aria-label="Every run">{table}</div>', sanitize=False)
    if several:
        text("Runs are dropped on the page of their own trial.").classes("quiet")
