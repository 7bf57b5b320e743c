"""`scribeline card`: a record worked out, as text, JSON or a page."""

from pathlib import Path
from typing import Annotated, Literal

import typer


def card(
    engine: Annotated[Path, typer.Argument(metavar="ENGINE.toml", help="The engine record.")],
    explain: Annotated[
        list[str] | None, typer.Option(metavar="NAME", help="Show the working of this number; may be repeated.")
    ] = None,
    names: Annotated[bool, typer.Option("--names", help="List the name of every number of the card.")] = False,
    json: Annotated[bool, typer.Option("--json", help="Print the whole card as one JSON document.")] = False,
    html: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write the card as a page of its own that needs no network.")
    ] = None,
    rpm: Annotated[
        float | None, typer.Option(help="Crank speed to work out, instead of the record's own.", min=100, max=30000)
    ] = None,
    limits: Annotated[
        Path | None, typer.Option(metavar="LIMITS.toml", help="Your own limits: tighter, looser or off.")
    ] = None,
    units: Annotated[Literal["mm", "inch"], typer.Option(help="What lengths are written in, as text or page.")] = "mm",
    exact: Annotated[bool, typer.Option("--no-plus-minus", help="Leave the +/- out: quicker.")] = False,
) -> None:
    """Work out everything that follows from what was measured, with its +/-, and warn where practice says stop."""
    if sum((json, names, bool(explain))) > 1:
        raise typer.BadParameter("choose one of --json, --names and --explain")
    from scribeline.tasks import card as tasks

    worked = tasks.engine_card_of_file(engine, speed_rpm=rpm, plus_minus=not exact, limits=limits)
    if html is not None:
        from scribeline.tasks.card_page import write_card_page

        write_card_page(worked, html, units)
    if json:
        print(tasks.card_json(worked))
    elif names:
        print("\n".join(worked.out.values))
    elif explain:
        print("\n\n".join(tasks.explain(worked, name, units) for name in explain))
    else:
        from scribeline.tasks.card_text import card_text

        print(card_text(worked, units))
    if html is not None and not json:
        print(f"\nThe card as a page: {html.resolve()}")
