"""`scribeline new`: the terminal's side of making a record by question and answer. Tasks decide what is asked."""

import contextlib
import io
import shlex
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from scribeline.tasks.new_questions import Question
    from scribeline.tasks.new_record import Conversation

INTERRUPTED = 130


def new(
    file: Annotated[
        Path | None, typer.Argument(metavar="FILE.toml", help="The engine record to write; asked for if left out.")
    ] = None,
) -> None:
    """Make an engine record: asks for the measurements one by one and says how to take each.

    Type mm, inches, fractions such as 1 27/32 in, a decimal comma, a +/- such as 50.02 ± 0.02. Type ? for more at any
    question. Everything typed is kept in FILE.toml.part until the record is whole: stop when you like, and go on later.
    """
    from scribeline.tasks import new_record as tasks

    _prepare_input()
    try:
        path = file or Path(_ask("Name of the file to write, such as my-engine.toml: ") or "my-engine.toml")
        tasks.refuse_unwritable(path)
        overwrite = path.exists() and _yes(f"{path} is there already. Overwrite it at the end?", default=False)
        if path.exists() and not overwrite:
            print("Nothing was changed. Give another name: scribeline new OTHER.toml")
            raise typer.Exit(1)
        conversation = _begun_before(path) or tasks.Conversation()
        _converse(conversation, path)
        tasks.write_new(conversation, path, overwrite=overwrite)
    except (KeyboardInterrupt, EOFError) as stop:
        print("\n\nStopped.")
        raise typer.Exit(INTERRUPTED if isinstance(stop, KeyboardInterrupt) else 1) from None
    print(f"\nWritten: {path}\nNext: scribeline card {shlex.quote(str(path))}")


def _begun_before(path: Path) -> "Conversation | None":
    """Go on from the answers of an earlier go, where there are some and the builder wants to."""
    from scribeline.tasks import new_record as tasks

    conversation = tasks.load_part(path)
    if conversation is None:
        return None
    part, count = tasks.part_of(path), len(conversation.answers)
    if _yes(f"{part} holds {count} answers of an earlier go. Go on from there?", default=True):
        return conversation
    print(f"Starting anew; the earlier answers are now in {tasks.set_aside(path)}")
    return None


def _converse(conversation: "Conversation", path: Path) -> None:
    """Ask until nothing is left to ask, keeping every answer at once."""
    from scribeline.tasks import new_record as tasks

    print("Type ? for more at any question, < to go back, Ctrl-C to stop and go on later.")
    try:
        while (question := conversation.question) is not None:
            _show(question, conversation.offered)
            reply = conversation.say(_ask("> "))
            tasks.save_part(conversation, path)
            if reply:
                print(reply)
    except (KeyboardInterrupt, EOFError):
        if conversation.answers:
            tasks.save_part(conversation, path)
            print(f"\n\nEverything typed so far is in {tasks.part_of(path)}")
            print(f"To go on from there: scribeline new {shlex.quote(str(path))}")
        raise


def _show(question: "Question", offered: str | None) -> None:
    from rich.console import Console
    from rich.text import Text

    on_enter = f"keep “{offered}”" if offered else question.on_enter
    console = Console(highlight=False, soft_wrap=not sys.stdout.isatty())
    console.print()
    for line, style in (
        (question.progress, "dim"),
        (question.label, "bold"),
        (question.hint, ""),
        (question.kind.accepts, "dim"),
        (on_enter and f"Enter: {on_enter}", "dim"),
    ):
        if line:
            console.print(Text(line, style))


def _prepare_input() -> None:
    if isinstance(sys.stdin, io.TextIOWrapper):
        sys.stdin.reconfigure(errors="surrogateescape")  # bytes that are no text are refused by the conversation
    if sys.stdin.isatty():
        with contextlib.suppress(ImportError):
            import readline  # noqa: F401  # arrow keys while typing


def _ask(prompt: str) -> str:
    line = input(prompt)
    if not sys.stdin.isatty():
        print(line.encode(errors="replace").decode())  # so that a script's output reads like the conversation
    return line


def _yes(asked: str, *, default: bool) -> bool:
    while True:
        answer = _ask(f"{asked} [{'Y/n' if default else 'y/N'}] ").strip().lower()
        if answer in ("", "y", "yes", "n", "no"):
            return answer.startswith("y") if answer else default
        print("y or n")
