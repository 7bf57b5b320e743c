"""`scribeline plan --goal`: searching for plans, with progress, and writing the one that is chosen."""

import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from scribeline.plan.steps import Plan
    from scribeline.units import Units


def find(
    engine: Path,
    goal: str,
    made: "Plan",
    *,
    gaskets: str | None,
    tools: str | None,
    keep: Sequence[str] | None,
    also: str | None,
    evaluations: int,
    plans: int,
    seed: int,
    journal: Path | None,
    choose: int | None,
    write: Path | None,
    html: Path | None,
    json: bool,
    shares: bool,
    units: "Units",
) -> None:
    """Search, print what was found, and write the chosen plan. Ctrl-C ends the search with the best so far."""
    from scribeline.tasks import search as tasks

    if choose is not None and write is None:
        raise tasks.refuse_choice_without_file(choose)
    with told() as progress:
        found = tasks.search_of_file(
            engine, goal, made=made, gaskets=gaskets, tools=tasks.tools_of(tools), keep=tasks.keep_of(keep),
            kept=tasks.also_of(also), evaluations=evaluations, most_plans=plans, seed=seed, journal=journal,
            shares=shares, progress=progress,
        )  # fmt: skip
    if html is not None:
        from scribeline.tasks.curve_page import write_page
        from scribeline.tasks.search_page import search_page

        write_page(search_page(found, units), html)
    if choose is not None and write is not None:
        from scribeline.tasks.curve_page import write_page

        write_page(tasks.chosen_text(found, choose), write)
    if json:
        print(tasks.search_json(found))
        return
    from scribeline.tasks.search_text import search_text

    print(search_text(found, units))
    if html is not None:
        print(f"\nThe plans as a page: {html.resolve()}")
    if write is not None and choose is not None:
        print(f"\nPlan {choose} is written: {write.resolve()}")
        print(f"Its cut list: scribeline plan {engine} --plan {write} --cut-list")


@contextmanager
def told() -> Iterator[Callable[[str, int, int, str], None]]:
    """Progress on standard error: a bar with the best so far on a screen, a line now and then elsewhere."""
    if not sys.stderr.isatty():
        latest: list[str] = []

        def line(what: str, done: int, count: int, best: str) -> None:
            if done == count or (done and done % 100 == 0) or latest[-1:] != [what]:
                latest[:] = [what]
                print(f"{what}: {done} of {count}" + (f", {best}" if best else ""), file=sys.stderr)

        yield line
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (
        TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn(),
        TextColumn("{task.fields[best]}"),
    )  # fmt: skip
    with Progress(*columns, console=Console(stderr=True), transient=True) as shown:
        task = shown.add_task("", total=None, best="")

        def tick(what: str, done: int, count: int, best: str) -> None:
            shown.update(task, description=what, completed=done, total=count, best=best)

        yield tick
