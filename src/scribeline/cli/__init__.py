"""The command line: arguments in, text out. It calls tasks and nothing deeper.

Everything heavy is imported inside the commands, so that `--help` answers at once. A refusal is printed to standard
error and ends with exit status 2; a command that did its work ends with 0.
"""

import sys
from io import TextIOWrapper

import typer

from scribeline.cli.build_card import build_card
from scribeline.cli.card import card
from scribeline.cli.curve import curve
from scribeline.cli.ledger import app as ledger
from scribeline.cli.new import new
from scribeline.cli.notebook import app as notebook
from scribeline.cli.pipe import pipe
from scribeline.cli.plan import plan
from scribeline.cli.record import check, schema
from scribeline.cli.rubbing import rubbing
from scribeline.cli.serve import serve
from scribeline.cli.sheets import sheets
from scribeline.cli.stacks import stacks
from scribeline.cli.trace import trace
from scribeline.cli.trial import app as trial
from scribeline.cli.who import who_limits
from scribeline.errors import ScribelineError

app = typer.Typer(
    name="scribeline",
    help="Measure a small two-stroke engine and see what it means before metal leaves.",
    no_args_is_help=True,
    add_completion=False,
    rich_markup_mode=None,  # the library that draws boxes round help takes longer to load than all the rest
    pretty_exceptions_enable=False,
)
app.command("card", short_help="Work out everything that was measured, with its +/-.")(card)
app.command("curve", short_help="Simulate the power curve, and what limits the engine.")(curve)
app.command("trace", short_help="Open one speed up: flows, pressures, waves in the pipe.")(trace)
app.command("pipe", short_help="Design a pipe, or say what the fitted one is tuned for.")(pipe)
app.command("plan", short_help="What cutting and swapping would make of an engine.")(plan)
app.command("stacks", short_help="Gaskets and decking that set the squish, least metal first.")(stacks)
app.command("who-limits", short_help="Ports or pipe? Who limits this engine.")(who_limits)
app.command("sheets", short_help="Draw templates and lists to print at full size.")(sheets)
app.command("build-card", short_help="Make a picture of an engine before and after.")(build_card)
app.command("rubbing", short_help="Measure ports on a photograph of a pencil rubbing.")(rubbing)
app.command("new", short_help="Make a record: asks for the measurements one by one.")(new)
app.command("check", short_help="Look whether a record could be of a real engine.")(check)
app.command("schema", short_help="Print the JSON Schema of a record, for editors.")(schema)
app.command("serve", short_help="Open the pages: the whole job in a browser.")(serve)
app.add_typer(notebook, name="notebook", help="Keep every record of every cylinder, with its history.")
app.add_typer(trial, name="trial", help="Test runs: keep them, compare them, hear what they can show.")
app.add_typer(ledger, name="ledger", help="What was predicted, what was measured, and what that teaches.")


def main() -> None:
    """Entry point of the `scribeline` command."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):  # a ? where the terminal has no ±, in place of a crash
            stream.reconfigure(errors="replace")
    try:
        app()
    except ScribelineError as refusal:
        print(refusal, file=sys.stderr)
        sys.exit(2)
