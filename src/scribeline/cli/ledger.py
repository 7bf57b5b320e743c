"""`scribeline ledger ...`: what was predicted, what was measured afterwards, and what that teaches."""

import sys
from pathlib import Path
from typing import Annotated

import typer

app = typer.Typer(no_args_is_help=True, help="What was predicted, what was measured, and what that teaches.")

Where = Annotated[
    str | None,
    typer.Option(
        "--notebook",
        metavar="PATH-or-URL",
        help="The notebook; else SCRIBELINE_NOTEBOOK, else the one in your data folder.",
    ),
]
BuildName = Annotated[str, typer.Argument(metavar="BUILD", help="Name of the build.")]
Author = Annotated[str | None, typer.Option(help="Who says so; else your user name.")]
Revision = Annotated[int | None, typer.Option(metavar="NUMBER", help="The revision it starts from; else the latest.")]
Note = Annotated[str, typer.Option(help="Why, or for what.")]


@app.command()
def predict(
    build: BuildName,
    what: Annotated[str, typer.Argument(help="What is foretold, such as 'top speed' or '25 to 50 km/h'.")],
    value: Annotated[float, typer.Argument(help="The value you expect.")],
    low: Annotated[float, typer.Argument(help="Lower end of its band, in which it should be 19 times of 20.")],
    high: Annotated[float, typer.Argument(help="Upper end of its band.")],
    unit: Annotated[str, typer.Argument(help="Unit of all three, such as s, mm, deg, km/h, kW.")],
    quantity: Annotated[str, typer.Option(help="What it is counted with, such as 'gate time'; else itself.")] = "",
    revision: Revision = None,
    note: Note = "",
    author: Author = None,
    notebook: Where = None,
) -> None:
    """Keep a prediction of your own before it can be known. It cannot be changed afterwards."""
    from scribeline.tasks.ledger_predicting import keep_prediction
    from scribeline.tasks.ledger_text import promise_text

    kept = keep_prediction(
        build, what, value, low, high, unit, quantity=quantity, revision=revision, note=note, author=author,
        where=notebook, tell=_tell,
    )  # fmt: skip
    print(f"Kept: {promise_text(kept)}")


@app.command("predict-plan")
def predict_plan(
    build: BuildName,
    plan: Annotated[Path, typer.Argument(metavar="PLAN.toml", help="The plan, as `scribeline plan` takes it.")],
    steps: Annotated[int | None, typer.Option(metavar="COUNT", help="Only its first steps, as they are done.")] = None,
    revision: Revision = None,
    note: Note = "",
    author: Author = None,
    notebook: Where = None,
) -> None:
    """Keep what a plan says of the engine card, before metal leaves."""
    from scribeline.tasks.ledger_predicting import keep_plan_predictions
    from scribeline.tasks.ledger_text import promise_text
    from scribeline.tasks.plan import plan_from

    kept = keep_plan_predictions(
        build, plan_from(plan), steps=steps, revision=revision, note=note, author=author, where=notebook, tell=_tell
    )
    for one in kept:
        print(promise_text(one))


@app.command("predict-road")
def predict_road(
    build: BuildName,
    gate: Annotated[list[str], typer.Option("--gate", metavar="SPEEDS", help="Such as '30 to 55 km/h'; repeat.")],
    rpm: Annotated[str | None, typer.Option(metavar="FIRST:LAST:STEP", help="Crank speeds; else the usual.")] = None,
    plan: Annotated[Path | None, typer.Option(metavar="PLAN.toml", help="What will have been done by then.")] = None,
    air: Annotated[str | None, typer.Option(metavar="AIR", help="Of the day to come: '18 C, 1003 hPa, 60 %'.")] = None,
    revision: Revision = None,
    note: Note = "",
    author: Author = None,
    notebook: Where = None,
) -> None:
    """Simulate a revision, drive it through gates, and keep what comes out, before the runs."""
    from scribeline.cli.progress import bar
    from scribeline.tasks.curve import speeds_of
    from scribeline.tasks.ledger_predicting import keep_road_predictions
    from scribeline.tasks.ledger_text import promise_text
    from scribeline.tasks.plan import plan_from

    with bar(build) as tick:
        kept = keep_road_predictions(
            build, gate, revision=revision, plan=plan_from(plan) if plan else None, air=air,
            speeds_rpm=speeds_of(rpm) if rpm else None, note=note, author=author, progress=tick, where=notebook,
            tell=_tell,
        )  # fmt: skip
    for one in kept:
        print(promise_text(one))


@app.command()
def beside(
    build: BuildName,
    number: Annotated[int | None, typer.Argument(metavar="[NUMBER]", help="A prediction, as `show` lists it.")] = None,
    value: Annotated[float | None, typer.Argument(metavar="[VALUE]", help="What was measured, in its unit.")] = None,
    plus_minus: Annotated[float | None, typer.Argument(metavar="[+/-]", help="The +/- of that.")] = None,
    trial: Annotated[str | None, typer.Option(help="Instead: what this trial measured.")] = None,
    setup: Annotated[str | None, typer.Option(help="Which setup of the trial was predicted.")] = None,
    measured_again: Annotated[
        bool, typer.Option("--measured-again", help="Instead: the latest revision, beside what plans said.")
    ] = False,
    seen_in: Annotated[str, typer.Option("--seen-in", help="Where a typed value was seen.")] = "",
    author: Author = None,
    notebook: Where = None,
) -> None:
    """Set beside predictions what was measured afterwards: a typed value, a trial, or a record measured again."""
    from scribeline.tasks.ledger_beside import set_beside, set_revision_beside, set_trial_beside
    from scribeline.tasks.ledger_text import promise_text

    if trial is not None:
        some = [number] if number is not None else []
        found = set_trial_beside(
            build, trial, setup=setup, predictions=some, author=author, where=notebook, tell=_tell
        )  # fmt: skip
    elif measured_again:
        found = set_revision_beside(build, author=author, where=notebook, tell=_tell)
    elif number is None or value is None or plus_minus is None:
        raise typer.BadParameter("give NUMBER VALUE +/-, or --trial, or --measured-again")
    else:
        found = [
            set_beside(build, number, value, plus_minus, seen_in=seen_in, author=author, where=notebook, tell=_tell)
        ]
    for one in found:
        print(promise_text(one))


@app.command("leave-out")
def leave_out_(
    build: BuildName,
    entry: Annotated[int, typer.Argument(help="Number of the prediction, measurement or lesson.")],
    because: Annotated[str, typer.Option("--because", metavar="REASON", help="Why; it stays in the notebook.")],
    author: Author = None,
    notebook: Where = None,
) -> None:
    """Leave an entry out from now on. It stays readable, with the reason."""
    from scribeline.tasks.ledger import leave_out

    leave_out(build, entry, because, author=author, where=notebook, tell=_tell)
    print(f"Left out: entry {entry}.")


@app.command()
def lesson(
    build: BuildName,
    words: Annotated[str, typer.Argument(help="What you would do again, or never again.")],
    revision: Revision = None,
    author: Author = None,
    notebook: Where = None,
) -> None:
    """Write a lesson down for the next cylinder, or the next builder."""
    from scribeline.tasks.ledger import write_lesson

    kept = write_lesson(build, words, revision=revision, author=author, where=notebook, tell=_tell)
    print(f"Kept as entry {kept.number}.")


@app.command()
def show(
    build: BuildName,
    json: Annotated[bool, typer.Option("--json", help="Print everything as one JSON document.")] = False,
    svg: Annotated[Path | None, typer.Option(metavar="FILE", help="Write the picture.")] = None,
    png: Annotated[Path | None, typer.Option(metavar="FILE", help="The same as pixels.")] = None,
    notebook: Where = None,
) -> None:
    """Show predictions beside what was measured, and what they teach."""
    from scribeline.tasks.curve_page import write_drawing
    from scribeline.tasks.history import ledger_drawing
    from scribeline.tasks.ledger import ledger_of
    from scribeline.tasks.ledger_text import ledger_json, ledger_text

    ledger = ledger_of(build, where=notebook, tell=_tell)
    print(ledger_json(ledger) if json else ledger_text(ledger))
    if svg is not None or png is not None:
        write_drawing(ledger_drawing(ledger), svg, png)


@app.command()
def history(
    build: BuildName,
    svg: Annotated[Path | None, typer.Option(metavar="FILE", help="Write the picture.")] = None,
    png: Annotated[Path | None, typer.Option(metavar="FILE", help="The same as pixels.")] = None,
    notebook: Where = None,
) -> None:
    """Show what happened to a build, in order of time."""
    from scribeline.tasks.curve_page import write_drawing
    from scribeline.tasks.history import timeline, timeline_drawing
    from scribeline.tasks.ledger_text import timeline_text

    found = timeline(build, where=notebook, tell=_tell)
    print(timeline_text(found))
    if svg is not None or png is not None:
        write_drawing(timeline_drawing(found), svg, png)


@app.command()
def compare(
    build: BuildName,
    before: Annotated[int, typer.Argument(help="Number of one revision.")],
    after: Annotated[int, typer.Argument(help="Number of the other.")],
    folder: Annotated[Path | None, typer.Option("--drawings", metavar="FOLDER", help="Write drawings of both.")] = None,
    notebook: Where = None,
) -> None:
    """Lay two revisions beside each other: readings, what follows from them, drawings over each other."""
    from scribeline.tasks.history_compare import compare_two, write_overlaid
    from scribeline.tasks.ledger_text import two_text

    two = compare_two(build, before, after, where=notebook, tell=_tell)
    print(two_text(two))
    for line in write_overlaid(two, folder) if folder is not None else ():
        print(line)


@app.command()
def page(
    build: BuildName,
    html: Annotated[Path, typer.Argument(metavar="FILE.html", help="The page to write.")],
    notebook: Where = None,
) -> None:
    """Write what a cylinder taught as one page, for the next builder."""
    from scribeline.tasks.lessons_page import write_lessons_page

    write_lessons_page(build, html, where=notebook, tell=_tell)
    print(f"Written: {html.resolve()}")


def _tell(sentence: str) -> None:
    print(sentence, file=sys.stderr)
