"""`scribeline trial ...`: test runs, from files to a verdict."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scribeline.cli.trial_printing import print_added, print_caution, print_shown, print_table, tell, time_words

if TYPE_CHECKING:
    from scribeline.recordings import ReadOptions
    from scribeline.tasks.trial_prediction import Measured, RoadPrediction
    from scribeline.tasks.trials import Shown

app = typer.Typer(no_args_is_help=True, help="Test runs: keep them, compare them, and hear what they can show.")

Where = Annotated[
    str | None,
    typer.Option(
        "--notebook",
        metavar="PATH-or-URL",
        help="The notebook; else SCRIBELINE_NOTEBOOK, else the one in your data folder.",
    ),
]
TrialName = Annotated[str, typer.Argument(metavar="TRIAL", help="Name of the trial.")]
RunName = Annotated[str, typer.Argument(metavar="RUN", help="Name of the run, as `trial show` lists it.")]
Because = Annotated[str, typer.Option("--because", metavar="REASON", help="What happened; it stays in the notebook.")]
Author = Annotated[str | None, typer.Option(help="Who says so; else your user name.")]
Gates = Annotated[list[str] | None, typer.Option("--gate", metavar="SPEEDS", help="Such as '30 to 55 km/h'; repeat.")]
AirOfDay = Annotated[str | None, typer.Option("--air", metavar="AIR", help="Such as '18 C, 1003 hPa, 60 %'.")]
WayOption = Annotated[
    str | None, typer.Option("--way", metavar="WAY", help="Wind and slope: 'out: head wind 3 km/h, up 0.2 %'.")
]
Turning = Annotated[
    str | None,
    typer.Option("--turning", metavar="WHAT", help="What turns: 'wheels 0.32 kg m2, crank 21 kg cm2' or 'share 4 %'."),
]
Band = Annotated[str | None, typer.Option(metavar="RPM", help="Band of engine speeds, such as '6000 to 9000'.")]
Decimal = Annotated[str | None, typer.Option(metavar="MARK", help="Decimal mark of a table: . or ,")]
SpeedUnit = Annotated[
    str | None, typer.Option("--speed-unit", help="Of a table whose headings have none: km/h, m/s, mph, kn.")
]
UtcOffset = Annotated[
    float | None, typer.Option(metavar="HOURS", help="How far local stamps in the file are ahead of UTC.")
]
EngineSpeeds = Annotated[
    str | None, typer.Option("--engine-speeds", metavar="RPM", help="Possible in a sound: '2000 to 12000'.")
]
Column = Annotated[
    list[str] | None,
    typer.Option("--column", metavar="HEADING=MEANING", help="What a column of a table holds; repeat; remembered."),
]


@app.command()
def new(
    trial: TrialName,
    build: Annotated[str | None, typer.Option(help="The build that is driven, from the notebook.")] = None,
    revision: Annotated[int | None, typer.Option(metavar="NUMBER", help="Its revision; else the latest.")] = None,
    gate: Gates = None,
    air: AirOfDay = None,
    band: Band = None,
    way: WayOption = None,
    turning: Turning = None,
    note: Annotated[str, typer.Option(help="Place, weather, what was changed.")] = "",
    author: Author = None,
    notebook: Where = None,
) -> None:
    """Begin a trial: a day of test runs on one build."""
    from scribeline.tasks import trials

    begun = trials.new_trial(
        trial, build=build, revision=revision, note=note, gates=gate or [], air=air, band=band, way=way,
        turning=turning, author=author, where=notebook, tell=tell,
    )  # fmt: skip
    driven = f", with revision {begun.revision_number} of {begun.build_name!r}" if begun.build_name else ""
    print(f"Began the trial {begun.name!r}{driven}.")
    print_caution()


@app.command("set")
def set_(
    trial: TrialName, gate: Gates = None, air: AirOfDay = None, band: Band = None, way: WayOption = None,
    turning: Turning = None, author: Author = None, notebook: Where = None,
) -> None:  # fmt: skip
    """Say which gates are wanted, what the air was, how wind and slope lay, what turns, which band of engine speeds."""
    from scribeline.tasks import trials

    trials.set_trial(
        trial, gates=gate or [], air=air, band=band, way=way, turning=turning, author=author, where=notebook, tell=tell
    )
    print(f"Noted for {trial!r}.")


@app.command()
def add(
    trial: TrialName,
    files: Annotated[list[Path], typer.Argument(metavar="FILES...", help="Tables of gate times, recordings, films.")],
    setup: Annotated[str, typer.Option(help="What was driven; else the trial's name, or what a table says.")] = "",
    direction: Annotated[str, typer.Option(help="Which way it was driven; else from the recording.")] = "",
    column: Column = None,
    decimal: Decimal = None,
    speed_unit: SpeedUnit = None,
    utc_offset: UtcOffset = None,
    road: Annotated[
        Path | None, typer.Option(metavar="FILE", help="A recording of the road speed during the one sound in FILES.")
    ] = None,
    camera: Annotated[str | None, typer.Option(help="Of a sound: 'on board' or 'standing'; else on board.")] = None,
    cylinders: Annotated[int | None, typer.Option(help="Of a sound; else the build's, else 1.")] = None,
    strokes: Annotated[int | None, typer.Option(help="Of a sound: 2 or 4; else 2.")] = None,
    engine_speeds: EngineSpeeds = None,
    author: Author = None,
    notebook: Where = None,
) -> None:
    """Read files into a trial. Each is kept to the byte; one that cannot be read stays out and says why."""
    from scribeline.tasks import trials
    from scribeline.tasks.trial_sound import told_of_sound

    options = read_options(column, decimal, speed_unit)
    sound = told_of_sound(cylinders, strokes, engine_speeds, camera)
    added = trials.add_files(
        trial, files, setup=setup, direction=direction, columns=options.columns, decimal=options.decimal,
        speed_unit=options.speed_unit, utc_offset_h=utc_offset, sound=sound, road=road, author=author, where=notebook,
        tell=tell,
    )  # fmt: skip
    print_added(added)
    print_caution()
    if any(one.why_not for one in added):
        raise typer.Exit(2)


@app.command("read-anew")
def read_anew(
    trial: TrialName,
    file: Annotated[int, typer.Argument(metavar="FILE", help="Number of a recording, as `trial show` lists it.")],
    road: Annotated[
        str | None,
        typer.Option(metavar="FILE", help="The road speed during this sound: a number in this trial, or a file."),
    ] = None,
    by_ear: Annotated[bool, typer.Option("--by-ear", help="Without the road speed that was told before.")] = False,
    setup: Annotated[str | None, typer.Option(help="What was driven.")] = None,
    direction: Annotated[str | None, typer.Option(help="Which way it was driven.")] = None,
    utc_offset: UtcOffset = None,
    camera: Annotated[str | None, typer.Option(help="Of a sound: 'on board' or 'standing'.")] = None,
    cylinders: Annotated[int | None, typer.Option(help="Of a sound.")] = None,
    strokes: Annotated[int | None, typer.Option(help="Of a sound: 2 or 4.")] = None,
    engine_speeds: EngineSpeeds = None,
    author: Author = None,
    notebook: Where = None,
) -> None:
    """Read a recording of the trial anew, told better how; what is not given stays as it was told before.

    It counts once. What was decided about its pulls is kept where they are there still, and said where not.
    """
    from scribeline.tasks import trial_anew
    from scribeline.tasks.trial_sound import told_of_sound

    told = trial_anew.Told(
        int(road) if road is not None and road.isdecimal() else Path(road) if road else None, by_ear, setup, direction,
        told_of_sound(cylinders, strokes, engine_speeds, camera), utc_offset,
    )  # fmt: skip
    print_added([trial_anew.read_anew(trial, file, told, author=author, where=notebook)], "read anew")
    print_caution()


@app.command("list")
def list_(notebook: Where = None) -> None:
    """List the trials in the notebook."""
    from scribeline.tasks import trials

    rows = [("trial", "build", "revision", "entries", "last", "note")]
    for one in trials.list_trials(where=notebook, tell=tell):
        last = time_words(one.last_at) if one.last_at else "-"
        revision = str(one.trial.revision_number or "-")
        note = " ".join(one.trial.note.split())
        rows.append((one.trial.name, one.trial.build_name or "-", revision, str(one.entry_count), last, note))
    print_table(rows)


@app.command()
def show(
    trial: TrialName,
    correct: Annotated[str | None, typer.Option(metavar="STANDARD", help="iso-1585 or sae-j1349.")] = None,
    notebook: Where = None,
) -> None:
    """Show a trial: its files, its pulls, every run with its times, and what was corrected."""
    from scribeline.tasks import trials

    print_shown(trials.show_trial(trial, correction=correct, where=notebook, tell=tell))
    print_caution()


@app.command()
def drop(
    trial: TrialName,
    run: RunName,
    because: Because,
    back: Annotated[bool, typer.Option("--back", help="Take a dropped run back instead.")] = False,
    author: Author = None,
    notebook: Where = None,
) -> None:
    """Drop a run with a reason. It stays in the notebook, in the tables and in the drawings, crossed out."""
    from scribeline.tasks import trials

    name = trials.drop_run(trial, run, because, back=back, author=author, where=notebook, tell=tell)
    print(f"{'Took back' if back else 'Dropped'} run {name} of {trial!r}: {because}")


@app.command()
def edit(
    trial: TrialName,
    pull: Annotated[str, typer.Argument(metavar="FILE.PULL", help="As `trial show` lists it; FILE alone for add.")],
    action: Annotated[
        str, typer.Argument(metavar="ACTION", help="trim, leave-out, take-back-in, gear, direction or add.")
    ],
    because: Because,
    start: Annotated[float | None, typer.Option("--from", metavar="SECONDS", help="New beginning of the pull.")] = None,
    end: Annotated[float | None, typer.Option("--to", metavar="SECONDS", help="New end of the pull.")] = None,
    gear: Annotated[int | None, typer.Option(help="The gear it was in, counted from 1.")] = None,
    direction: Annotated[str, typer.Option(help="Which way it went, such as out.")] = "",
    author: Author = None,
    notebook: Where = None,
) -> None:
    """Correct a pull: an aborted one, brakes that dragged, a wrong gear or direction. The recording stays as it was."""
    from scribeline.tasks import trials

    trials.edit_pull(
        trial,
        pull,
        action,
        because,
        start_s=start,
        end_s=end,
        gear=gear,
        direction=direction,
        author=author,
        where=notebook,
        tell=tell,
    )
    print(f"Noted for pull {pull} of {trial!r}: {action}, {because}")


@app.command()
def undo(
    trial: TrialName,
    back: Annotated[bool, typer.Option("--back", help="Bring back what was taken back last instead.")] = False,
    author: Author = None,
    notebook: Where = None,
) -> None:
    """Take back what came in last: a file, a setting, a correction. It stays in the notebook and can come back."""
    from scribeline.tasks.trial_undo import turn_last

    words = turn_last(trial, back=back, author=author, where=notebook)
    print(f"{'Brought back' if back else 'Took back'} in {trial!r}: {words}")


@app.command()
def compare(
    names: Annotated[
        list[str],
        typer.Argument(metavar="A B [C...]", help="Trials, tables of gate times, setups; the first is the base."),
    ],
    setup: Annotated[list[str] | None, typer.Option("--setup", help="A setup, the base first; repeat.")] = None,
    leave_out: Annotated[
        list[str] | None,
        typer.Option("--without", metavar="WHAT", help="order, direction, day or pair shall not go in beside; repeat."),
    ] = None,
    measure: Annotated[str | None, typer.Option(help="Only this measure, as it is called.")] = None,
    correct: Annotated[str | None, typer.Option(metavar="STANDARD", help="Power by iso-1585 or sae-j1349.")] = None,
    json: Annotated[bool, typer.Option("--json", help="Print everything as one JSON document.")] = False,
    csv: Annotated[Path | None, typer.Option(metavar="FILE", help="Write the tables as CSV.")] = None,
    xlsx: Annotated[Path | None, typer.Option(metavar="FILE", help="Write the tables as a workbook.")] = None,
    svg: Annotated[Path | None, typer.Option(metavar="FILE", help="Write the drawings: FILE, FILE-2, ...")] = None,
    png: Annotated[Path | None, typer.Option(metavar="FILE", help="The same as pictures.")] = None,
    transparent: Annotated[bool, typer.Option("--transparent", help="Drawings without paper.")] = False,
    predict: Annotated[bool, typer.Option("--predict", help="Simulate each build, and set its times beside.")] = False,
    decimal: Decimal = None,
    speed_unit: SpeedUnit = None,
    column: Column = None,
    notebook: Where = None,
) -> None:
    """Compare setups: by how much they differ, how sure that is, and what more runs would give."""
    from scribeline.tasks import verdict_files, verdicts

    compared = verdicts.compare_named(
        names, setups=setup or [], leave_out=leave_out or [], measure=measure, correction=correct,
        options=read_options(column, decimal, speed_unit), where=notebook, tell=tell,
    )  # fmt: skip
    predictions = _predictions(compared.trials) if predict else []
    if json:
        from scribeline.tasks.trial_prediction import prediction_json

        print(verdict_files.verdict_json(compared, [prediction_json(*one) for one in predictions]))
    else:
        from scribeline.tasks.trial_prediction import prediction_text
        from scribeline.tasks.verdict_text import verdict_text

        print(verdict_text(compared))
        for one in predictions:
            print("\n" + prediction_text(*one))
    written: list[Path] = []
    if csv is not None:
        verdict_files.put_text(csv, verdict_files.verdict_csv(compared))
        written.append(csv)
    if xlsx is not None:
        verdict_files.write_xlsx(compared, xlsx)
        written.append(xlsx)
    if svg is not None or png is not None:
        from scribeline.tasks.prediction_drawings import prediction_drawings

        further = prediction_drawings(compared, predictions)
        for picture in (svg, png):
            if picture is not None:
                written += verdict_files.write_pictures(compared, picture, transparent=transparent, further=further)
    for path in written:
        print(f"Written: {path.resolve()}", file=sys.stderr if json else sys.stdout)


def _predictions(shown: "tuple[Shown, ...]") -> "list[tuple[RoadPrediction, Measured]]":
    from scribeline.cli.progress import bar
    from scribeline.tasks.trial_prediction import predicted_beside

    found = []
    for one in shown:
        with bar(one.state.trial.name) as tick:
            found.append(predicted_beside(one, progress=tick))
    return found


@app.command("runs-needed")
def runs_needed(
    difference: Annotated[float, typer.Argument(help="The difference you want to see, in seconds.", min=0.0)],
    scatter: Annotated[
        float, typer.Option(help="How far single runs scatter (standard deviation), same unit.", min=0.0)
    ],
    setup: Annotated[list[str] | None, typer.Option("--setup", help="Names of the setups; repeat.")] = None,
    unit: Annotated[str, typer.Option(help="Unit of both numbers.")] = "s",
) -> None:
    """Before the day: how many runs, in which order, which way, and what to hold constant."""
    from scribeline.tasks.trial_planning import plan_runs, plan_text

    print(plan_text(plan_runs(difference, scatter, setup or ["A", "B"], unit)))


@app.command("coast-down")
def coast_down(
    out: Annotated[list[Path], typer.Argument(metavar="OUT...", help="Recordings of roll-outs driven one way.")],
    mass: Annotated[float, typer.Option(metavar="KG", help="Vehicle, fuel and dressed rider.")],
    back: Annotated[list[Path] | None, typer.Option(metavar="FILE", help="Driven the other way; repeat.")] = None,
    air: AirOfDay = None,
    turning: Annotated[str | None, typer.Option(metavar="SHARE", help="What turns: 'share 4 %'; else 3 %.")] = None,
) -> None:
    """Find rolling and air drag from letting it roll out, both ways along one road."""
    from scribeline.tasks.coasting import coast_files, coast_text

    print(coast_text(coast_files(out, back or [], mass, air, turning)))


def read_options(column: list[str] | None, decimal: str | None, speed_unit: str | None) -> "ReadOptions":
    """What was said about a table, judged. Raises TrialError."""
    from scribeline.tasks.trial_options import read_options as judged

    return judged(column or [], decimal, speed_unit)
