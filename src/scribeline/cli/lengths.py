"""What lengths are written in, and typed in where no unit stands behind them: alike for the commands that show some."""

from typing import Annotated, Literal

import typer

UnitsOption = Annotated[Literal["mm", "inch"], typer.Option(help="What lengths are written in.")]
