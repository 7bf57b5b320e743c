"""`scribeline serve`: the pages, in a browser."""

from typing import Annotated

import typer


def serve(
    notebook: Annotated[
        str | None,
        typer.Option(
            "--notebook",
            metavar="PATH-or-URL",
            help="The notebook; else SCRIBELINE_NOTEBOOK, else the one in your data folder.",
        ),
    ] = None,
    port: Annotated[
        int | None, typer.Option(help="Which port; else a usual one that is free.", min=1, max=65535)
    ] = None,
    lan: Annotated[
        bool, typer.Option("--lan", help="Let phones on this network in, each once paired with a code.")
    ] = False,
    open_page: Annotated[bool, typer.Option("--open", help="Open the page in this computer's browser.")] = False,
) -> None:
    """Serve the pages to this computer's browser until interrupted; nothing leaves the machine."""
    from scribeline.web.warm import begun_workers

    workers = begun_workers()  # first: they load while the server is imported
    from scribeline.web.serving import serve as start

    start(
        where=notebook, port=port, lan=lan, open_page=open_page, tell=lambda line: print(line, flush=True),
        workers=workers,
    )  # fmt: skip
