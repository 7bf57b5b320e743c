"""`scribeline curve`: the simulated power curve of a record, as text, JSON, CSV, a page or a drawing."""

from pathlib import Path
from typing import Annotated

import typer


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
    how_sure: Annotated[
        bool, typer.Option("--how-sure", help="Once more with cells twice as long: the error of the arithmetic.")
    ] = False,
    cell: Annotated[float, typer.Option(help="Cell length, mm: smaller is finer and slower.", min=2, max=40)] = 10.0,
) -> None:
    """Simulate an engine at full throttle: power, torque and what limits it at each speed."""
    from scribeline.cli.progress import bar
    from scribeline.tasks import curve as tasks

    speeds = tasks.speeds_of(rpm) if rpm is not None else None
    curves = []
    for path in (engine, compare) if compare is not None else (engine,):
        with bar(path.name) as tick:
            one = tasks.power_curve_of_file(path, speeds, tasks.settings(cell), progress=tick)
        if how_sure:
            with bar(f"{path.name}, coarser") as tick:
                one = tasks.with_coarser(one, progress=tick)
        speeds = [point.speed_rpm for point in one.points]
        curves.append(one)
    first, second = curves[0], curves[1] if compare is not None else None
    if html or svg or png:
        from scribeline.tasks.curve_page import curve_drawing, curve_page, write_drawing, write_page

        if html is not None:
            write_page(curve_page(first, second), html)
        if svg or png:
            write_drawing(curve_drawing(first, second), svg, png)
    if json:
        print(tasks.curve_json(first, second))
    elif csv:
        print(tasks.curve_csv(first, second), end="")
    else:
        from scribeline.tasks.curve_text import curve_text

        print(curve_text(first, second))
        for what, written in (("page", html), ("drawing", svg), ("picture", png)):
            if written is not None:
                print(f"\nThe curve as a {what}: {written.resolve()}")
