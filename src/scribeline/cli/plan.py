"""`scribeline plan`: what a list of operations makes of an engine, and the staged cut list for the bench."""

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Literal

import typer

from scribeline.errors import PlanError, Problem


def plan(
    engine: Annotated[Path, typer.Argument(metavar="ENGINE.toml", help="The engine record.")],
    plan_file: Annotated[
        Path | None, typer.Option("--plan", metavar="PLAN.toml", help="The steps, from a plan file.")
    ] = None,
    do: Annotated[
        list[str] | None,
        typer.Option(metavar="STEP", help='A step more: "raise exhaust roof at exhaust: 1.2 mm". May be repeated.'),
    ] = None,
    can: Annotated[bool, typer.Option("--can", help="Only list what can be done to this engine.")] = False,
    box: Annotated[
        Path | None, typer.Option(metavar="BOX.toml", help="The parts at hand: gaskets, pipes, reeds.")
    ] = None,
    limits: Annotated[
        Path | None, typer.Option(metavar="LIMITS.toml", help="Your own limits: tighter, looser or off.")
    ] = None,
    pipe_of: Annotated[
        list[Path] | None, typer.Option(metavar="OTHER.toml", help="The pipe of another record is at hand.")
    ] = None,
    pipe_of_build: Annotated[
        list[str] | None, typer.Option(metavar="BUILD", help="The pipe of a build in the notebook is at hand.")
    ] = None,
    notebook: Annotated[str | None, typer.Option(metavar="WHERE", help="The notebook, if not the usual one.")] = None,
    cut_list: Annotated[bool, typer.Option("--cut-list", help="Stage by stage: lines, stops, what to expect.")] = False,
    from_here: Annotated[
        int | None, typer.Option(metavar="STEP", help="Steps up to this one are done: work the rest out again.")
    ] = None,
    measured: Annotated[
        Path | None, typer.Option(metavar="NOW.toml", help="With --from-here: the engine as measured now.")
    ] = None,
    curve: Annotated[bool, typer.Option("--curve", help="Simulate both engines, before and after.")] = False,
    rpm: Annotated[str | None, typer.Option(metavar="FIRST:LAST:STEP", help="With --curve: crank speeds.")] = None,
    write: Annotated[
        Path | None, typer.Option("--write", "-o", metavar="FILE", help="Write the plan, in the order it is done.")
    ] = None,
    write_record: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write the record to expect once all is done.")
    ] = None,
    units: Annotated[Literal["mm", "inch"], typer.Option(help="What lengths are written in.")] = "mm",
    json: Annotated[bool, typer.Option("--json", help="Print everything as one JSON document.")] = False,
    goal: Annotated[
        str | None, typer.Option(metavar="GOAL", help="Search plans: most, pull, top-speed or FIRST:LAST rev/min.")
    ] = None,
    gaskets: Annotated[
        str | None, typer.Option(metavar="LIST", help='With --goal: more gaskets, a file or "base 0.5x2, head 0.8".')
    ] = None,
    tools: Annotated[
        str | None, typer.Option(metavar="LIST", help='With --goal: such as "file, glass plate, lathe".')
    ] = None,
    keep: Annotated[
        list[str] | None, typer.Option(metavar="PART", help="With --goal: leave it as it is, such as pipe.")
    ] = None,
    also: Annotated[
        str | None, typer.Option(metavar="LIST", help="With --goal: keep high too: pull, trapped, knock, peak.")
    ] = None,
    evaluations: Annotated[
        int, typer.Option(metavar="N", help="With --goal: engines to simulate at most.", min=10, max=100_000)
    ] = 1000,
    plans: Annotated[int, typer.Option(metavar="N", help="With --goal: plans to show.", min=1, max=12)] = 8,
    seed: Annotated[int, typer.Option(metavar="N", help="With --goal: the same seed, the same plans.")] = 1,
    journal: Annotated[
        Path | None, typer.Option(metavar="FILE", help="With --goal: keep what was tried, to go on later.")
    ] = None,
    choose: Annotated[int | None, typer.Option(metavar="N", help="With --goal: the plan to --write.", min=1)] = None,
    html: Annotated[
        Path | None, typer.Option(metavar="FILE", help="With --goal: a page that needs no network.")
    ] = None,
    shares: Annotated[
        bool, typer.Option("--shares/--no-shares", help="With --goal: ports or pipe? Shared out, some seconds more.")
    ] = True,
) -> None:
    """See what a list of operations makes of an engine, before metal leaves, or search for one with --goal."""
    from scribeline.tasks import plan as tasks
    from scribeline.tasks.plan_text import plan_text, possible_text

    if (from_here is None) != (measured is None):
        given = "--from-here" if measured is None else "--measured"
        raise PlanError([Problem(given, None, "alone", "--from-here with --measured", "give both or neither")])
    made = tasks.plan_from(
        plan_file,
        do or (),
        box=box,
        limits_file=limits,
        pipes_of=pipe_of or (),
        pipes_of_builds=pipe_of_build or (),
        where=notebook,
    )
    if goal is not None:
        from scribeline.cli.search import find

        find(
            engine, goal, made, gaskets=gaskets, tools=tools, keep=keep, also=also, evaluations=evaluations,
            plans=plans, seed=seed, journal=journal, choose=choose, write=write, html=html, json=json, shares=shares,
            units=units,
        )  # fmt: skip
        return
    _only_with_goal(
        {"--gaskets": gaskets, "--tools": tools, "--keep": keep, "--also": also, "--journal": journal,
         "--choose": choose, "--html": html}
    )  # fmt: skip
    if can:
        print(possible_text(tasks.possible(engine, made.box)))
        return
    if from_here is not None and measured is not None:
        result = tasks.taken_up(engine, made, from_here, measured, staged=cut_list)
    else:
        result = tasks.planned(engine, made, staged=cut_list)
    curves = None
    if curve:
        from scribeline.cli.progress import bar
        from scribeline.tasks import curve as curve_tasks

        speeds = curve_tasks.speeds_of(rpm) if rpm is not None else None
        both = []
        for words, record in (("before", result.record), ("after", result.predicted)):
            with bar(words) as tick:
                both.append(curve_tasks.power_curve(record, speeds, progress=tick))
        curves = (both[0], both[1])
    tasks.write_files(result, write, write_record)
    if json:
        print(tasks.plan_json(result, curve_tasks.curve_json(*curves) if curves else None))
    else:
        print(plan_text(result, curves, units))


def _only_with_goal(given: Mapping[str, object]) -> None:
    """Refuse what only a search understands: nothing that was typed is left aside in silence."""
    alone = [name for name, value in given.items() if value is not None and value != []]
    if alone:
        remedy = "add --goal, or name gaskets with --box" if "--gaskets" in alone else "add --goal, or leave it out"
        raise PlanError([Problem(", ".join(alone), None, "without --goal", "only with --goal", remedy)])
