"""Which gaskets, and how much off the deck, set the squish: every stack from the box, and one of them taken."""

import functools
from html import escape
from typing import Any

from nicegui import ui

from scribeline.tasks.plan_kept import of_stacks
from scribeline.tasks.plan_quick import stack_facts, stacks, stacks_counted, with_stack
from scribeline.web.pages.plan.bench import Bench
from scribeline.web.pages.plan.looks import Html, fold, stale_mark
from scribeline.web.pages.plan.work import Watch, start
from scribeline.web.shell import button, said, say, text

FIRST = 3
"""Stacks shown before the others are unfolded."""


def build(bench: Bench) -> None:
    """Build this part of the page."""
    text("Set the squish before anything else: every port line is drawn from the deck as it is afterwards.", "p")
    button("Which gaskets, how much off?", lambda: go())
    watch = Watch(bench, "stacks")
    shown = Html()
    rows = ui.element("div")

    def of() -> str:
        return of_stacks(bench.kept.record, bench.kept.plan)

    def show(document: dict[str, Any] | None) -> None:
        rows.clear()
        if document is None:
            return
        mark = stale_mark(document["of"] != of())
        if document["why_not"]:
            shown.show(mark + "".join(f"<p>{escape(one)}</p>" for one in said(document["why_not"])))
            return
        shown.show(f"{mark}<p>{escape(stacks_counted(document, bench.page.units))}</p>")
        first, more = document["rows"][:FIRST], document["rows"][FIRST:]
        with rows:
            _stacks(bench, first)
            if more:
                with fold(f"{len(more)} more", name="more stacks"):
                    _stacks(bench, more)

    watch.follow(show)

    def go() -> None:
        what = "The gasket stacks"
        watch.attend(start(bench, "stacks", stacks, of(), bench.kept.record, bench.kept.plan, what=what, quick=True))

    bench.on_kept(watch.show_kept)


def _stacks(bench: Bench, rows: list[dict[str, Any]]) -> None:
    with ui.element("ul").classes("stacks"):
        for row in rows:
            _row(bench, row)


def _row(bench: Bench, row: dict[str, Any]) -> None:
    facts = stack_facts(row, bench.page.units)
    with ui.element("li").classes("stack"):
        text(f"base {row['base']}; head {row['head']}", "p").classes("strong")
        Html("dl", "facts-inline").show(
            "".join(f"<div><dt>{escape(name)}</dt><dd>{escape(value)}</dd></div>" for name, value in facts)
        )
        if row["reused"]:
            text("A sheet called fitted was tightened before: measure it again, it may not seal twice.").classes(
                "quiet"
            )
        take = button("Take this stack", functools.partial(_take, bench, row))
        take.props(f'aria-label="Take this stack: base {escape(row["base"])}, head {escape(row["head"])}"')


def _take(bench: Bench, row: dict[str, Any]) -> None:
    if bench.put("steps", with_stack(bench.steps, row), f"squish by base {row['base']}, head {row['head']}"):
        say("Taken over: its steps stand in front of the others. Undo brings the former ones back.")
