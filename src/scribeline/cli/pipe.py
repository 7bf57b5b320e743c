"""`scribeline pipe`: a tuned pipe for a crank speed, what a fitted one is tuned for, the flat patterns of either."""

from math import inf
from pathlib import Path
from typing import Annotated, Literal

import typer

from scribeline.cli.lengths import UnitsOption
from scribeline.errors import GeometryError


def pipe(
    engine: Annotated[Path, typer.Argument(metavar="ENGINE.toml", help="The engine record.")],
    rpm: Annotated[
        float | None,
        typer.Option(help="Design a pipe for this crank speed; left out: read the fitted one.", min=500, max=30000),
    ] = None,
    goal: Annotated[
        Literal["band", "wide"], typer.Option(help="Power in a band around the speed, or over a wide range.")
    ] = "band",
    diffusers: Annotated[int, typer.Option(help="Cones that widen: 1 or 2.", min=1, max=2)] = 1,
    header: Annotated[str | None, typer.Option(metavar="LENGTH", help="Inside diameter at the flange.")] = None,
    longest: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="Most room along the middle line, flange to open end.")
    ] = None,
    widest: Annotated[str | None, typer.Option(metavar="LENGTH", help="Largest outside diameter of the belly.")] = None,
    steepest_diffuser: Annotated[
        float | None, typer.Option(help="Largest included angle of a diffuser.", min=2, max=30)
    ] = None,
    steepest_baffle: Annotated[
        float | None, typer.Option(help="Largest included angle of the baffle.", min=5, max=60)
    ] = None,
    stinger_least: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="Smallest stinger to try, inside.")
    ] = None,
    stinger_most: Annotated[str | None, typer.Option(metavar="LENGTH", help="Largest stinger to try, inside.")] = None,
    stinger_length: Annotated[str | None, typer.Option(metavar="LENGTH", help="Length of the stinger.")] = None,
    first_shape: Annotated[
        bool, typer.Option("--first-shape", help="Only the published rules, without simulation.")
    ] = False,
    output: Annotated[
        Path | None, typer.Option("-o", metavar="NEW.toml", help="Write the record with the new pipe in it.")
    ] = None,
    json: Annotated[bool, typer.Option("--json", help="Print everything as one JSON document.")] = False,
    svg: Annotated[Path | None, typer.Option(metavar="FILE", help="Draw the pipe over the fitted one.")] = None,
    png: Annotated[Path | None, typer.Option(metavar="FILE", help="The same drawing as a picture.")] = None,
    patterns: Annotated[
        Path | None, typer.Option(metavar="DIR", help="Write the flat patterns and the assembly drawing.")
    ] = None,
    metal: Annotated[str, typer.Option(metavar="LENGTH", help="Thickness of the sheet metal.")] = "1 mm",
    gap: Annotated[str, typer.Option(metavar="LENGTH", help="Gap left open at each butt weld.")] = "0 mm",
    overlap: Annotated[str, typer.Option(metavar="LENGTH", help="Seam allowance; 0: butted.")] = "0 mm",
    joint: Annotated[float, typer.Option(help="Most degrees that one joint of a bend turns.", min=1, max=45)] = 15.0,
    stock: Annotated[
        str, typer.Option(metavar="WxH", help="Sheets of metal as bought, in mm, or 40x20 in.")
    ] = "1000x500",
    paper: Annotated[str, typer.Option(help="A4, Letter or A3.")] = "A4",
    formats: Annotated[str, typer.Option("--format", metavar="LIST", help="Of pdf, svg and dxf.")] = "pdf,dxf",
    bar_across: Annotated[
        str | None, typer.Option(metavar="MEASURED", help="What the 100 mm bar across measured, such as 98.7 mm.")
    ] = None,
    bar_up: Annotated[
        str | None, typer.Option(metavar="MEASURED", help="What the 100 mm bar up the paper measured.")
    ] = None,
    units: UnitsOption = "mm",
) -> None:
    """Design a tuned pipe for a crank speed, or say what the fitted pipe is tuned for.

    The first shape follows published rules; simulation then changes tuned length, header, diffuser, belly and baffle
    within the limits given, and the stinger only where you allow it. Ctrl-C keeps the best so far. A length is typed as
    everywhere: 34, 34.5 mm, "1 3/8 in"; a bare number is in --units.
    """
    if output is not None and rpm is None:
        raise GeometryError(
            "-o writes a new pipe\n    accepted: -o together with --rpm\n    what to do: say for which rpm"
        )
    from scribeline.cli.progress import phases
    from scribeline.tasks import pipe as tasks
    from scribeline.tasks.pipe_files import pipe_wishes, report_drawing, typed_length, write_patterns

    header_mm = typed_length("--header", header, 5, 150, units)
    longest_mm = typed_length("--longest", longest, 100, inf, units)
    widest_mm = typed_length("--widest", widest, 20, inf, units)
    least_mm, most_mm = (
        typed_length(f"--stinger-{which}", typed, 5, inf, units)
        for which, typed in (("least", stinger_least), ("most", stinger_most))
    )
    stinger_mm = typed_length("--stinger-length", stinger_length, 20, inf, units)
    metal_mm = typed_length("--metal", metal, 0.3, 3, units) or 0.0
    gap_mm = typed_length("--gap", gap, 0, 3, units) or 0.0
    overlap_mm = typed_length("--overlap", overlap, 0, 20, units) or 0.0
    wishes = pipe_wishes(metal_mm, gap_mm, overlap_mm, stock, joint, paper, formats, bar_across, bar_up, units)
    with phases() as tick:
        if rpm is None:
            report = tasks.read_pipe_of_file(engine, simulate=not first_shape, progress=tick)
        else:
            wanted = tasks.Wanted(
                rpm, goal, diffusers, header_mm, longest_mm, widest_mm, metal_mm, steepest_diffuser, steepest_baffle,
                least_mm, most_mm, stinger_mm, first_shape,
            )  # fmt: skip
            report = tasks.design_pipe_of_file(engine, wanted, progress=tick)
    done: list[tuple[str, Path]] = []
    if output is not None:
        from scribeline.tasks.pipe_record import write_record_with

        write_record_with(engine, report.record, report.chosen.sections, output)
        done.append(("The record with the new pipe", output))
    if svg is not None or png is not None:
        from scribeline.tasks.curve_page import write_drawing

        write_drawing(report_drawing(report, units), svg, png)
        done += [(f"The pipe as a {what}", file) for what, file in (("drawing", svg), ("picture", png)) if file]
    if patterns is not None:
        done += [("Patterns", file) for file in write_patterns(report, wishes, engine, patterns)]
    from scribeline.tasks.pipe_text import pipe_json, pipe_text

    if json:
        print(pipe_json(report))
        return
    print(pipe_text(report, units))
    if done:
        print()
    for what, file in done:
        print(f"{what}: {file.resolve()}")
