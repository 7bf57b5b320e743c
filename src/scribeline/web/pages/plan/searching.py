"""The search for plans: live, stopped, cut off or done; the picture to pick from, and the plan that is picked."""

import functools
from html import escape
from typing import Any

from nicegui import ui

from scribeline.tasks.plan_aim import tools_at_hand
from scribeline.tasks.plan_found import (
    EVALUATIONS,
    asked,
    figures_of,
    front_places,
    goal_words,
    points_of,
    search,
    with_found,
)
from scribeline.tasks.plan_kept import of_search
from scribeline.units import in_inches, length
from scribeline.web.pages.plan.bench import Bench
from scribeline.web.pages.plan.looks import Html, fold, listed, paragraphs, stale_mark, table
from scribeline.web.pages.plan.work import Watch, running, start
from scribeline.web.shell import button, guarded, said, say, text

LENGTHS = dict(zip(EVALUATIONS, ("a short look", "the usual", "a patient one"), strict=True))


def build(bench: Bench) -> None:
    """Build this part of the page."""
    _Searching(bench)


class _Searching:
    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.evaluations = EVALUATIONS[1]
        self.picked: int | None = None
        self.document: dict[str, Any] | None = None
        self._question = text("", "p")
        with ui.element("div").classes("row"):
            many = ui.select(
                {n: f"{words}: {n} engines" for n, words in LENGTHS.items()}, value=self.evaluations, label="how long"
            )
            many.props("outlined square behavior=menu").classes("field wide").on_value_change(self._length)
            self._go = button("Search", lambda: guarded(self._start), kind="chief")
        self.watch = Watch(bench, "search")
        self._state = Html()
        self._picture = ui.element("div").classes("pick-from")
        self._chosen = (
            ui.element("div")
            .classes("picked")
            .props('role="region" aria-label="The plan that is picked" aria-live="polite"')
        )
        with fold("All of them as a table") as all_of_them:
            self._table = ui.element("div")
        with fold("How it was searched") as how:
            self._how = Html()
        self._behind = (all_of_them, how)
        self._offer(False)
        self._drawn: Any = None
        self.watch.follow(self._show)
        bench.on_kept(self._kept)
        self._ask()

    def _offer(self, there: bool) -> None:
        """Offer what can be unfolded once a search has found something to be seen there."""
        for one in self._behind:
            one.set_visibility(there)

    def _of(self) -> str:
        return of_search(self.bench.kept.record, self.bench.kept.plan, 0)

    def _ask(self) -> None:
        wanted = self.bench.kept.plan.wanted
        tools = ", ".join(tools_at_hand(self.bench.kept.plan))
        keep = f"; kept as it is: {', '.join(wanted.keep)}" if wanted.keep else ""
        self._question.set_text(f"Wanted: {goal_words(wanted.goal)}. With {tools or 'no tools'}{keep}.")

    def _kept(self) -> None:
        self._ask()
        self.watch.show_kept()

    def _length(self, event: Any) -> None:
        self.evaluations = int(event.value)

    def _start(self) -> None:
        plan = self.bench.kept.plan
        asked(plan)
        self.picked = None
        start(
            self.bench, "search", search, self._of(), self.bench.kept.record, plan, self.evaluations, what="The search"
        )
        self.watch.begun("the search begins")

    def _show(self, document: dict[str, Any] | None) -> None:
        self.document = document
        self._offer(document is not None)
        if document is None:
            return
        stale = document["of"] != self._of()
        job = running(self.bench, "search")
        live = job is not None and not job.ended
        cut_off = document["state"] == "searching" and not live
        words = []
        if document.get("error"):
            words.append(" ".join(said(document["error"])))
        elif document["state"] == "done":
            words.append(document["verdict"])
        elif cut_off:
            words.append(
                f"This search was cut off after {document['evaluated']} of {document['most']} engines. What it had "
                "found is below, and can be used. Going on takes up where it was."
            )
        elif document["state"] == "stopped":
            words.append(
                f"Stopped after {document['evaluated']} of {document['most']} engines. What was found so far is below; "
                "it was looked at with the quick setting only."
            )
        if document["best"] and document["state"] != "done":
            words.append(document["best"][0].upper() + document["best"][1:] + ".")
        mark = stale_mark(stale).replace("the plan", "what was wanted and at hand") if stale else ""
        self._state.show(
            mark + paragraphs(words) + (paragraphs([document["never_proved"]]) if document["plans"] else "")
        )
        self._go.set_text(
            "Go on with the search" if not stale and document["state"] != "done" and not live else "Search"
        )
        self._draw(document)
        self._how.show(
            paragraphs([f"{document['evaluated']} engines were simulated over nine speeds."])
            + listed([f"Not searched: {one}" for one in document["left_out"]])
        )

    def _draw(self, document: dict[str, Any]) -> None:
        points = points_of(document)
        if self._drawn == (points, self.picked):
            return  # what is under somebody's finger, or has the keyboard, stays where it is
        self._drawn = (points, self.picked)
        self._picture.clear()
        self._table.clear()
        if self.picked is not None and self.picked > len(points):
            self.picked = None
        self._tell()
        if not points:
            return
        with self._picture:
            drawing, places = front_places(document, self.bench.page.units)
            with ui.element("div").classes("pick-sheet").props(f'style="--mm:{drawing.wide_mm:.1f}"'):
                ui.html(drawing.svg, sanitize=False)
                for one, (x, y) in zip(points, places, strict=True):
                    dot = (
                        ui.element("button")
                        .classes("dot")
                        .props(f"type=button aria-pressed={str(one['number'] == self.picked).lower()}")
                    )
                    dot.style(f"left:{x:.2f}%;top:{y:.2f}%").props(f'aria-label="{self._said(document, one)}"')
                    dot.on("click", functools.partial(self._pick, one["number"]))
                    with dot:
                        text(str(one["number"]), "span")
        with self._table:
            if document["plans"]:
                heads, rows = figures_of(document, self.bench.page.units)
                Html().show(table(["plan", *heads], rows, "Every figure"))
            for one in points:
                with ui.element("div").classes("shelf-row"):
                    with ui.element("div"):
                        text(self._said(document, one), "p").classes("strong")
                        text(in_inches("; ".join(one["says"]), self.bench.page.units), "p").classes("quiet")
                    look = button("Look at it", functools.partial(self._pick, one["number"]))
                    look.props(f'aria-label="Look at plan {one["number"]}"')

    def _pick(self, number: int, *_: Any) -> None:
        self.picked = number
        if self.document is not None:
            self._draw(self.document)

    def _tell(self) -> None:
        self._chosen.clear()
        if self.document is None or self.picked is None:
            return
        one = points_of(self.document)[self.picked - 1]
        with self._chosen:
            marks = f": {', '.join(one['marks'])}" if one.get("marks") else ""
            text(f"Plan {one['number']}{marks}", "h3")
            Html("ol").show(paragraphs(one["says"], "li"))
            Html().show(paragraphs(one.get("explained") or [self._said(self.document, one)]))
            for words in one.get("careful", ()):
                text(f"{words}.", "p").classes("warning certain")
            button("Take these operations", functools.partial(self._take, one), kind="chief")

    def _take(self, one: dict[str, Any]) -> None:
        steps = with_found(self.bench.steps, one)
        if self.bench.put("steps", steps, f"plan {one['number']} of the search"):
            say(f"Plan {one['number']} is the plan now. Undo brings the former one back.")

    def _said(self, document: dict[str, Any], one: dict[str, Any]) -> str:
        gain = f"{one['gain']:+.{document['digits']}f} {document['unit']}"
        metal = length(one["metal_mm"], self.bench.page.units)
        return escape(f"plan {one['number']}: {gain} for {metal} of metal", quote=True)
