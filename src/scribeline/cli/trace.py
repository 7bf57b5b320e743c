"""`scribeline trace`: one speed of an engine opened up, crank degree by crank degree."""

from pathlib import Path
from typing import Annotated

import typer

from scribeline.cli.lengths import UnitsOption
from scribeline.cli.simulated import AirC, AirHpa, BlowBy, CellMm, Humidity, Knobs, Throttle


def trace(
    engine: Annotated[Path, typer.Argument(metavar="ENGINE.toml", help="The engine record.")],
    rpm: Annotated[float, typer.Option(help="Crank speed.", min=500, max=30000)],
    compare: Annotated[
        Path | None, typer.Option(metavar="OTHER.toml", help="Another record at the same speed, laid over the first.")
    ] = None,
    csv: Annotated[bool, typer.Option("--csv", help="Print a line for every half degree.")] = False,
    html: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write a page with the drawings, that needs no network.")
    ] = None,
    svg: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write the wave diagram, or both engines, alone.")
    ] = None,
    png: Annotated[Path | None, typer.Option(metavar="FILE", help="Write that as a picture.")] = None,
    throttle: Throttle = 1.0,
    air_hpa: AirHpa = None,
    air_c: AirC = None,
    humidity: Humidity = None,
    blow_by: BlowBy = 0.0,
    knob: Knobs = None,
    cell: CellMm = 10.0,
    units: UnitsOption = "mm",
) -> None:
    """Show pressure, temperature, flow and purity at cylinder, crankcase and ports, and the waves in the pipe."""
    if csv and compare is not None:
        raise typer.BadParameter("choose one of --csv and --compare")
    from scribeline.tasks import trace as tasks
    from scribeline.tasks.curve import air_outside, settings
    from scribeline.tasks.curve_asked import knobs_of

    asked = settings(cell, air_outside(air_hpa, air_c, humidity), knobs_of(knob or []))
    one, other = (
        tasks.trace_of_file(path, rpm, asked, throttle=throttle, blow_by_mm2=blow_by) if path is not None else None
        for path in (engine, compare)
    )
    assert one is not None
    if html or svg or png:
        from scribeline.tasks.curve_page import trace_page, write_drawing, write_page

        if html is not None:
            write_page(trace_page(one, other, units), html)
        if svg or png:
            from scribeline.tasks.trace_more import over_drawing

            write_drawing(tasks.trace_drawings(one, units)[-1] if other is None else over_drawing(one, other), svg, png)
    if csv:
        print(tasks.trace_csv(one), end="")
        return
    print(tasks.trace_text(one, other, units))
    for what, written in (("page", html), ("drawing", svg), ("picture", png)):
        if written is not None:
            print(f"\nThe trace as a {what}: {written.resolve()}")
