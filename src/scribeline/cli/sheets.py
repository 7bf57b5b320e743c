"""`scribeline sheets`: templates, lists and parts to print at full size and mark out by."""

from pathlib import Path
from typing import Annotated, Literal

import typer


def sheets(
    engine: Annotated[Path, typer.Argument(metavar="ENGINE.toml", help="The engine record.")],
    folder: Annotated[Path, typer.Option("-o", "--output", metavar="DIR", help="The folder to write into.")],
    plan: Annotated[Path | None, typer.Option(metavar="PLAN.toml", help="What shall be done: gives targets.")] = None,
    limits: Annotated[
        Path | None, typer.Option(metavar="LIMITS.toml", help="Your own limits, in place of the plan's own.")
    ] = None,
    paper: Annotated[str, typer.Option(help="A4, A3 or Letter: what lies in the printer.")] = "A4",
    formats: Annotated[str, typer.Option("--format", metavar="LIST", help="Of pdf, svg and dxf.")] = "pdf",
    only: Annotated[
        list[str] | None, typer.Option("--sheet", metavar="NAME", help="Only this sheet; may be repeated.")
    ] = None,
    names: Annotated[bool, typer.Option("--names", help="List the name of every sheet, and write nothing.")] = False,
    bar_across: Annotated[
        str | None, typer.Option(metavar="MEASURED", help="What the 100 mm bar along the short edge measured.")
    ] = None,
    bar_up: Annotated[
        str | None, typer.Option(metavar="MEASURED", help="What the 100 mm bar along the long edge measured.")
    ] = None,
    thickness: Annotated[float, typer.Option(metavar="MM", help="Of the paper that the wrap is printed on.")] = 0.10,
    windows: Annotated[bool, typer.Option("--windows", help="Ports are to be cut out of the wrap.")] = False,
    sleeve: Annotated[
        float | None, typer.Option(metavar="MM", help="Outside of a loose sleeve, for the mirrored wrap.")
    ] = None,
    wheel: Annotated[
        list[float] | None, typer.Option(metavar="MM", help="Diameter of a degree wheel; may be repeated.")
    ] = None,
    bolt: Annotated[float, typer.Option(metavar="MM", help="The bolt that the degree wheel goes on.")] = 10.0,
    turns: Annotated[
        str, typer.Option(help="How the crank turns, seen from the wheel: clockwise or anticlockwise.")
    ] = "clockwise",
    metal: Annotated[
        float, typer.Option(metavar="MM", help="Thickness of the sheet that the pipe is made of.", min=0.3, max=3)
    ] = 1.0,
    stock: Annotated[str, typer.Option(metavar="WxH", help="Sheets of metal for the pipe, mm.")] = "1000x500",
    units: Annotated[Literal["mm", "inch"], typer.Option(help="What lengths on the sheets are written in.")] = "mm",
) -> None:
    """Draw the sheets of an engine at full size: wrap, cut list, degree wheels, gaskets, squish card, head.

    Print the PDF at 100 %, measure the check bars on the paper, and give what they measured with --bar-across and
    --bar-up to have the sheets corrected for your printer.
    """
    from scribeline.errors import SheetError
    from scribeline.tasks import sheets as tasks
    from scribeline.tasks.sheet_drawings import SHEETS
    from scribeline.tasks.sheet_wishes import Wishes, formats_of, pipe_of

    if names:
        print("\n".join(f"{name:22}  {what}" for name, what in SHEETS.items()))
        return
    ways: dict[str, Literal["clockwise", "anticlockwise"]] = {
        "clockwise": "clockwise",
        "anticlockwise": "anticlockwise",
    }
    if turns not in ways:
        raise SheetError(
            f"--turns {turns}\n    accepted: clockwise or anticlockwise\n"
            "    what to do: look at the end of the crank that the wheel goes on, and turn it the way the engine runs"
        )
    wishes = Wishes(
        paper=paper,
        formats=formats_of(formats),
        only=tuple(only or ()),
        printer=tasks.printer_of(bar_across, bar_up),
        sheet_mm=thickness,
        sleeve_mm=sleeve,
        windows=windows,
        wheels_mm=tuple(wheel or Wishes().wheels_mm),
        bolt_mm=bolt,
        turns=ways[turns],
        pipe=pipe_of(metal, stock),
        units=units,
    )
    written = tasks.write_sheets(engine, folder, wishes, plan=plan, limits=limits)
    for path in written.files:
        print(path)
    for left_out in written.left_out:
        print(f"\nnot made: {left_out.name}: {left_out.why}")
    print("\nPrint the PDF at 100 % (actual size) and measure the check bars before you trust a line.")
