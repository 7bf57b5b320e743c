"""`scribeline stacks`: every gasket stack with the least metal to take off that puts the squish in range."""

from pathlib import Path
from typing import Annotated

import typer

from scribeline.cli.lengths import UnitsOption


def stacks(
    engine: Annotated[Path, typer.Argument(metavar="ENGINE.toml", help="The engine record.")],
    gaskets: Annotated[
        str | None, typer.Option(metavar="LIST", help='A file of parts, or "base 0.5x2 0.3, head 0.8".')
    ] = None,
    tools: Annotated[str | None, typer.Option(metavar="LIST", help='Such as "file, glass plate, lathe".')] = None,
    low: Annotated[float | None, typer.Option(metavar="MM", help="Least squish gap at its tightest place.")] = None,
    high: Annotated[float | None, typer.Option(metavar="MM", help="Most squish gap, mean.")] = None,
    most: Annotated[int, typer.Option(help="How many stacks to list.", min=1, max=200)] = 8,
    units: UnitsOption = "mm",
) -> None:
    """List every gasket stack that sets the squish, with the least metal to take off and the chance that it fails."""
    from scribeline.tasks import search as tasks
    from scribeline.tasks.search_text import stacks_text

    record, box, found = tasks.stacks_of_file(engine, gaskets, tasks.tools_of(tools), low, high)
    print("\n".join(stacks_text(found, record, box, most, units)))
