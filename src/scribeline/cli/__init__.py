"""The command line: arguments in, text out. It calls tasks and nothing deeper.

Everything heavy is imported inside the commands, so that `--help` answers at once. A refusal is printed to standard
error and ends with exit status 2; a command that did its work ends with 0.
"""

import sys

import typer

from scribeline.cli.card import card
from scribeline.cli.new import new
from scribeline.cli.notebook import app as notebook
from scribeline.cli.record import check, schema
from scribeline.errors import ScribelineError

app = typer.Typer(
    name="scribeline",
    help="Measure a small two-stroke engine and see what it means before metal leaves.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)
app.command("card")(card)
app.command("new")(new)
app.command("check")(check)
app.command("schema")(schema)
app.add_typer(notebook, name="notebook", help="Keep every record of every cylinder, with its history.")


def main() -> None:
    """Entry point of the `scribeline` command."""
    try:
        app()
    except ScribelineError as refusal:
        print(refusal, file=sys.stderr)
        sys.exit(2)
