"""`scribeline rubbing`: ports measured on a photograph or a scan of a pencil rubbing."""

from pathlib import Path
from typing import Annotated

import typer


def rubbing(
    photograph: Annotated[Path, typer.Argument(metavar="PHOTO", help="Photograph or scan of the rubbing.")],
    engine: Annotated[Path, typer.Argument(metavar="ENGINE.toml", help="The engine record.")],
    overlay: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Where the outlines over the photograph go, .png or .svg.")
    ] = None,
    output: Annotated[
        Path | None, typer.Option("-o", "--output", metavar="NEW.toml", help="Write the record with these ports.")
    ] = None,
    port: Annotated[
        list[str] | None,
        typer.Option("--port", metavar="NUMBER=NAME:ROLE", help="Name an opening the record lacks; may be repeated."),
    ] = None,
    replace: Annotated[
        bool, typer.Option("--replace", help="Also write over what another instrument measured.")
    ] = False,
    accept: Annotated[
        list[int] | None,
        typer.Option(metavar="NUMBER", help="Believe an opening in doubt after a look; may be repeated."),
    ] = None,
    thickness: Annotated[float, typer.Option(metavar="MM", help="Of the paper.")] = 0.10,
    bar_along: Annotated[
        str | None, typer.Option(metavar="MEASURED", help="What the 100 mm bar along the deck line measured.")
    ] = None,
    bar_down: Annotated[
        str | None, typer.Option(metavar="MEASURED", help="What the 100 mm bar at right angles to it measured.")
    ] = None,
    deck: Annotated[
        str | None, typer.Option(metavar="X1,Y1,X2,Y2", help="A scan without markers: two points of the deck line.")
    ] = None,
    middle: Annotated[
        str | None, typer.Option(metavar="X,Y", help="A scan without markers: a point below the exhaust's middle.")
    ] = None,
    ruler: Annotated[
        str | None,
        typer.Option(metavar="X1,Y1,X2,Y2,MM", help="Two points on a ruler in the scan, and mm (or in) between."),
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Print everything as one JSON document.")] = False,
) -> None:
    """Measure port outlines on a photograph of a rubbing made on the marker sheet.

    Print the sheet with `scribeline sheets ENGINE.toml -o DIR --sheet rubbing-wrap`. The overlay shows what was
    measured: look at it before the record is written.
    """
    from scribeline.tasks import rubbing_files as tasks

    scan = tasks.scan_marks(deck, middle, ruler)
    printed = tasks.printed(bar_along, bar_down)
    names = tasks.names_of(port or [])
    measured = tasks.measure_rubbing(photograph, engine, paper_mm=thickness, printed=printed, scan=scan)
    picture = overlay if overlay is not None else photograph.with_name(f"{photograph.stem}-overlay.png")
    tasks.write_overlay(measured, picture)
    print(tasks.rubbing_json(measured) if json else tasks.rubbing_text(measured))
    if not json:
        print(f"\nThe outlines over the photograph: {picture.resolve()}")
    if output is not None:
        kept = tasks.write_ports(measured, output, names, replace=replace, accept=accept or ())
        if not json:
            print(f"The record with these ports: {output.resolve()}" + (f"\n{kept}" if kept else ""))
