"""`scribeline curve`: the simulated power curve of a record, as text, JSON, CSV, a page or a drawing."""

from pathlib import Path
from typing import Annotated

import typer

from scribeline.cli.lengths import UnitsOption
from scribeline.cli.simulated import AirC, AirHpa, BlowBy, CellMm, Humidity, Knobs, Throttle


def curve(
    engine: Annotated[Path, typer.Argument(metavar="ENGINE.toml", help="The engine record.")],
    rpm: Annotated[
        str | None, typer.Option(metavar="FIRST:LAST:STEP", help="Crank speeds; around the record's own if left out.")
    ] = None,
    compare: Annotated[
        Path | None, typer.Option(metavar="OTHER.toml", help="Another record, laid over the first.")
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Print everything as one JSON document.")] = False,
    csv: Annotated[bool, typer.Option("--csv", help="Print the numbers as a table for a spreadsheet.")] = False,
    html: Annotated[Path | None, typer.Option(metavar="FILE", help="Write a page that needs no network.")] = None,
    svg: Annotated[Path | None, typer.Option(metavar="FILE", help="Write the drawing alone.")] = None,
    png: Annotated[Path | None, typer.Option(metavar="FILE", help="Write the drawing as a picture.")] = None,
    save: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Save the results with their traces as a NumPy archive (.npz).")
    ] = None,
    throttle: Throttle = 1.0,
    air_hpa: AirHpa = None,
    air_c: AirC = None,
    humidity: Humidity = None,
    blow_by: BlowBy = 0.0,
    knob: Knobs = None,
    how_sure: Annotated[
        bool,
        typer.Option(
            "--how-sure",
            help="Once more with longer cells, once from fast to slow, once turned on for longer: the error of the "
            "arithmetic, and whether it settles, in one way.",
        ),
    ] = False,
    plus_minus: Annotated[
        bool,
        typer.Option("--plus-minus", help="Carry the +/- of your readings into the curve: 24 engines within them."),
    ] = False,
    cell: CellMm = 10.0,
    units: UnitsOption = "mm",
) -> None:
    """Simulate an engine: power, torque and what limits it at each speed."""
    if json and csv:
        raise typer.BadParameter("choose one of --json and --csv")
    from scribeline.cli.progress import bar
    from scribeline.tasks import curve as tasks
    from scribeline.tasks import curve_sure
    from scribeline.tasks.curve_asked import knobs_of

    settings = tasks.settings(cell, tasks.air_outside(air_hpa, air_c, humidity), knobs_of(knob or []))
    speeds = tasks.speeds_of(rpm) if rpm is not None else None
    curves = []
    for path in (engine, compare) if compare is not None else (engine,):
        with bar(path.name) as tick:
            one = tasks.power_curve_of_file(
                path, speeds, settings, throttle=throttle, blow_by_mm2=blow_by, progress=tick
            )
        if how_sure:
            with bar(f"{path.name}, coarser") as tick:
                one = curve_sure.with_coarser(one, progress=tick)
            with bar(f"{path.name}, from fast to slow") as tick:
                one = curve_sure.with_downward(one, progress=tick)
            with bar(f"{path.name}, turned on") as tick:
                one = curve_sure.with_later(one, progress=tick)
        if plus_minus:
            with bar(f"{path.name}, within the +/-") as tick:
                one = curve_sure.with_plus_minus(one, progress=tick)
        speeds = [point.speed_rpm for point in one.points]
        curves.append(one)
    first, second = curves[0], curves[1] if compare is not None else None
    if save is not None:
        tasks.save_curve(first, save)
    if html or svg or png:
        from scribeline.tasks.curve_page import curve_drawing, curve_page, write_drawing, write_page

        if html is not None:
            write_page(curve_page(first, second, units), html)
        if svg or png:
            write_drawing(curve_drawing(first, second), svg, png)
    if json:
        print(tasks.curve_json(first, second))
    elif csv:
        print(tasks.curve_csv(first, second), end="")
    else:
        from scribeline.tasks.curve_text import curve_text

        print(curve_text(first, second, units))
        for what, written in (("page", html), ("drawing", svg), ("picture", png), ("file of results", save)):
            if written is not None:
                print(f"\nThe curve as a {what}: {written.resolve()}")
