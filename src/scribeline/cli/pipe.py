"""`scribeline pipe`: a tuned pipe for a crank speed, what a fitted one is tuned for, the flat patterns of either."""

from pathlib import Path
from typing import Annotated, Literal

import typer

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
    header: Annotated[float | None, typer.Option(help="Inside diameter at the flange, mm.", min=5, max=150)] = None,
    longest: Annotated[
        float | None, typer.Option(help="Most room along the middle line, flange to open end, mm.", min=100)
    ] = None,
    widest: Annotated[float | None, typer.Option(help="Largest outside diameter of the belly, mm.", min=20)] = None,
    steepest_diffuser: Annotated[
        float | None, typer.Option(help="Largest included angle of a diffuser.", min=2, max=30)
    ] = None,
    steepest_baffle: Annotated[
        float | None, typer.Option(help="Largest included angle of the baffle.", min=5, max=60)
    ] = None,
    stinger_least: Annotated[float | None, typer.Option(help="Smallest stinger to try, inside, mm.", min=5)] = None,
    stinger_most: Annotated[float | None, typer.Option(help="Largest stinger to try, inside, mm.", min=5)] = None,
    stinger_length: Annotated[float | None, typer.Option(help="Length of the stinger, mm.", min=20)] = None,
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
    metal: Annotated[float, typer.Option(help="Thickness of the sheet metal, mm.", min=0.3, max=3)] = 1.0,
    gap: Annotated[float, typer.Option(help="Gap left open at each butt weld, mm.", min=0, max=3)] = 0.0,
    overlap: Annotated[float, typer.Option(help="Seam allowance, mm; 0: butted.", min=0, max=20)] = 0.0,
    joint: Annotated[float, typer.Option(help="Most degrees that one joint of a bend turns.", min=1, max=45)] = 15.0,
    stock: Annotated[str, typer.Option(metavar="WxH", help="Sheets of metal as bought, mm.")] = "1000x500",
    paper: Annotated[str, typer.Option(help="A4, Letter or A3.")] = "A4",
    formats: Annotated[str, typer.Option("--format", metavar="LIST", help="Of pdf, svg and dxf.")] = "pdf,dxf",
    bar_across: Annotated[
        str | None, typer.Option(metavar="MEASURED", help="What the 100 mm bar across measured, such as 98.7 mm.")
    ] = None,
    bar_up: Annotated[
        str | None, typer.Option(metavar="MEASURED", help="What the 100 mm bar up the paper measured.")
    ] = None,
) -> None:
    """Design a tuned pipe for a crank speed, or say what the fitted pipe is tuned for.

    The first shape follows published rules; simulation then changes tuned length, header, diffuser, belly and baffle
    within the limits given, and the stinger only where you allow it. Ctrl-C keeps the best so far.
    """
    if output is not None and rpm is None:
        raise GeometryError(
            "-o writes a new pipe\n    accepted: -o together with --rpm\n    what to do: say for which rpm"
        )
    from scribeline.cli.progress import phases
    from scribeline.tasks import pipe as tasks
    from scribeline.tasks.pipe_files import pipe_wishes, report_drawing, write_patterns

    wishes = pipe_wishes(metal, gap, overlap, stock, joint, paper, formats, bar_across, bar_up)
    with phases() as tick:
        if rpm is None:
            report = tasks.read_pipe_of_file(engine, simulate=not first_shape, progress=tick)
        else:
            wanted = tasks.Wanted(
                rpm, goal, diffusers, header, longest, widest, metal, steepest_diffuser, steepest_baffle, stinger_least,
                stinger_most, stinger_length, first_shape,
            )  # fmt: skip
            report = tasks.design_pipe_of_file(engine, wanted, progress=tick)
    done: list[tuple[str, Path]] = []
    if output is not None:
        from scribeline.tasks.pipe_record import write_record_with

        write_record_with(engine, report.record, report.chosen.sections, output)
        done.append(("The record with the new pipe", output))
    if svg is not None or png is not None:
        from scribeline.tasks.curve_page import write_drawing

        write_drawing(report_drawing(report), svg, png)
        done += [(f"The pipe as a {what}", file) for what, file in (("drawing", svg), ("picture", png)) if file]
    if patterns is not None:
        done += [("Patterns", file) for file in write_patterns(report, wishes, engine, patterns)]
    from scribeline.tasks.pipe_text import pipe_json, pipe_text

    if json:
        print(pipe_json(report))
        return
    print(pipe_text(report))
    if done:
        print()
    for what, file in done:
        print(f"{what}: {file.resolve()}")
