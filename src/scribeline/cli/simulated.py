"""What is told of the engine's surroundings and of the arithmetic, alike for every command that simulates a record."""

from typing import Annotated

import typer

Throttle = Annotated[float, typer.Option(help="Open share of the carburettor's bore; 1 is wide open.", min=0.1, max=1)]
AirHpa = Annotated[float | None, typer.Option(help="Barometer outside, hPa, as it stands there; 1013.25 if left out.")]
AirC = Annotated[float | None, typer.Option(help="Air outside, °C; 25 if left out.")]
Humidity = Annotated[float | None, typer.Option(help="Relative humidity outside, %; dry if left out.")]
BlowBy = Annotated[
    float, typer.Option(help="Area that leaks past the rings, mm2, as if it were a nozzle; none if left out.", min=0)
]
Knobs = Annotated[
    list[str] | None,
    typer.Option(metavar="NAME=VALUE", help="Turn a knob of those under RELIES ON, such as mixing=0.5; repeatable."),
]
CellMm = Annotated[
    float,
    typer.Option(
        help="Cell length, mm (1.2 times that in the exhaust, 0.8 in the other ducts): smaller is finer and slower.",
        min=2,
        max=40,
    ),
]
