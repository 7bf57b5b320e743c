"""`scribeline build-card`: a picture of an engine before and after."""

from pathlib import Path
from typing import Annotated

import typer

from scribeline.cli.lengths import UnitsOption


def build_card(
    engine: Annotated[Path, typer.Argument(metavar="ENGINE.toml", help="The engine record, as it was.")],
    picture: Annotated[Path, typer.Option("-o", "--output", metavar="FILE", help="A name that ends in .png or .svg.")],
    plan: Annotated[Path | None, typer.Option(metavar="PLAN.toml", help="What is planned is the after.")] = None,
    after: Annotated[
        Path | None, typer.Option(metavar="AFTER.toml", help="The engine as it was measured afterwards.")
    ] = None,
    square: Annotated[bool, typer.Option("--square", help="1080 x 1080 dots; 1920 x 1080 otherwise.")] = False,
    dark: Annotated[bool, typer.Option("--dark", help="Light lines on dark paper.")] = False,
    transparent: Annotated[bool, typer.Option("--transparent", help="No paper: to lay over a picture.")] = False,
    units: UnitsOption = "mm",
) -> None:
    """Make a picture of an engine's timing before and after, to show to others."""
    from scribeline.tasks.build_card import write_build_card

    print(
        write_build_card(
            engine, picture, plan=plan, after=after, square=square, dark=dark, transparent=transparent, units=units
        ).resolve()
    )
