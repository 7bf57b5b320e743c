"""`scribeline who-limits`: ports or pipe? What a list of changes gains, shared out among its groups."""

from pathlib import Path
from typing import Annotated

import typer

from scribeline.cli.lengths import UnitsOption


def who_limits(
    engine: Annotated[Path, typer.Argument(metavar="ENGINE.toml", help="The engine record.")],
    plan: Annotated[Path | None, typer.Option(metavar="PLAN.toml", help="The changes, from a plan file.")] = None,
    against: Annotated[
        Path | None, typer.Option(metavar="OTHER.toml", help="Another record, taken over part by part.")
    ] = None,
    goal: Annotated[str, typer.Option(metavar="GOAL", help="most, pull, top-speed or FIRST:LAST rev/min.")] = "most",
    gaskets: Annotated[
        str | None, typer.Option(metavar="LIST", help='Gaskets: a file, or "base 0.5x2 0.3, head 0.8".')
    ] = None,
    tools: Annotated[str | None, typer.Option(metavar="LIST", help='Such as "file, glass plate, lathe".')] = None,
    draws: Annotated[int, typer.Option(metavar="N", help="Engines drawn within the +/-.", min=0, max=100)] = 4,
    svg: Annotated[Path | None, typer.Option(metavar="FILE", help="Write the picture as SVG.")] = None,
    png: Annotated[Path | None, typer.Option(metavar="FILE", help="Write the picture as PNG.")] = None,
    units: UnitsOption = "mm",
) -> None:
    """Ports or pipe? Without a plan or another record: the best single thing of each group is compared."""
    from scribeline.cli.search import told
    from scribeline.tasks import search as tasks
    from scribeline.tasks.curve_page import write_drawing
    from scribeline.tasks.search_page import who_drawing
    from scribeline.tasks.search_text import who_text

    with told() as progress:
        record, who = tasks.who_of_file(
            engine, goal, made=tasks.plan_of_file(plan), against=against, gaskets=gaskets, tools=tasks.tools_of(tools),
            draws=draws, progress=progress,
        )  # fmt: skip
    if svg is not None or png is not None:
        write_drawing(who_drawing(who), svg, png)
    print("\n".join(who_text(record, who, units)))
