"""Processes that keep revisions, to be killed or set against each other.

Started as a program, this imports all that is needed once and then forks one child per order, so that a child is at
work a few milliseconds after it was asked for. `Keepers` is the side of the test.

A child keeps revision after revision, each with one attached file, and writes the number of each to its log after,
and only after, `keep` has returned.
"""

import json
import os
import random
import signal
import subprocess
import sys
from pathlib import Path
from types import TracebackType
from typing import Any, Literal, Self

from scribeline.notebook import FileToAttach, make_edit, open_notebook, turn_back, work_in_hand
from scribeline.notebook.entries import sha256_of


def record(seed: int, number: int) -> str:
    """A record of a few hundred bytes to some 12 kB, never the same twice."""
    rows = [f"reading_{row}_mm = {row / 8}" for row in range(random.Random(seed * 1000 + number).randrange(10, 600))]
    return f"seed = {seed}\nnumber = {number}\n" + "\n".join(rows) + "\n"


def photograph(seed: int, number: int) -> bytes:
    """Content of up to 30 kB that belongs to this record and no other."""
    dice = random.Random(-seed * 1000 - number)
    return dice.randbytes(dice.randrange(1, 30_000))


def keep_on(where: str, log: str, seed: int, count: int) -> None:
    """What a child does. `count` 0 means until it is killed."""
    handle = os.open(log, os.O_WRONLY | os.O_APPEND | os.O_CREAT)
    with open_notebook(where, create=True) as notebook:
        done = 0
        while not count or done < count:
            done += 1
            file = FileToAttach(f"{seed}-{done}.jpg", "image/jpeg", photograph(seed, done))
            text = record(seed, done)
            kept = notebook.keep("kart", text, author="keeper", note=f"{seed} {done}", files=[file])
            os.write(handle, f"{kept.revision.number} {seed} {done} {sha256_of(text.encode())}\n".encode())


def edit_on(where: str, log: str, seed: int, count: int) -> None:
    """The same with edits of the work in hand, now and then undone and redone; reports number and label of each."""
    handle = os.open(log, os.O_WRONLY | os.O_APPEND | os.O_CREAT)
    with open_notebook(where) as notebook:
        work, done, dice = work_in_hand(notebook, "kart"), 0, random.Random(seed)
        while not count or done < count:
            done += 1
            kind: Literal["undo", "redo"] = "undo" if dice.random() < 0.6 else "redo"
            if dice.random() < 0.3 and (work.undoable if kind == "undo" else work.redoable):
                work = turn_back(notebook, "kart", kind, device=f"{seed}")
            else:
                place = f"row_{dice.randrange(5)}"
                before, after = work.document["record"].get(place), f"{seed} {done} {'x' * dice.randrange(3000)}"
                work = make_edit(
                    notebook, "kart", f"record.{place}", after, before=before, device=f"{seed}", label=f"{done}"
                )
            os.write(handle, f"{work.number} {seed} {done} -\n".encode())


def serve() -> None:
    """Fork a child for each order on standard input; wait for one where that is the order."""
    import alembic.command  # noqa: F401 - imported before the fork, so that children begin at once
    import psycopg  # noqa: F401
    import sqlalchemy.dialects.sqlite  # noqa: F401

    from scribeline.notebook import schema

    assert schema
    for line in sys.stdin:
        order = json.loads(line)
        if "wait" in order:
            print(os.waitpid(order["wait"], 0)[1], flush=True)
        elif child := os.fork():
            print(child, flush=True)
        else:
            try:
                {"keep": keep_on, "edit": edit_on}[order.pop("work")](**order)
            except BaseException as error:
                print(f"{type(error).__name__}: {error}", file=sys.stderr, flush=True)
                os._exit(1)
            os._exit(0)


class Keepers:
    """Starts, kills and awaits children."""

    def __enter__(self) -> Self:
        command = [sys.executable, "-m", "tests.notebook.keeper"]
        root = Path(__file__).resolve().parents[2]
        self._server = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=root)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._server.communicate()

    def start(self, where: str | Path, log: Path, seed: int, count: int = 0, work: str = "keep") -> int:
        """Start a child; returns its process number."""
        return self._ask(where=str(where), log=str(log), seed=seed, count=count, work=work)

    def wait(self, child: int) -> int:
        """Wait for a child's end; returns its exit status, or minus the signal that killed it."""
        return os.waitstatus_to_exitcode(self._ask(wait=child))

    def kill(self, child: int) -> int:
        """Kill a child without giving it a chance to do anything about it."""
        os.kill(child, signal.SIGKILL)
        return self.wait(child)

    def _ask(self, **order: Any) -> int:
        assert self._server.stdin
        assert self._server.stdout
        self._server.stdin.write(json.dumps(order) + "\n")
        self._server.stdin.flush()
        return int(self._server.stdout.readline())


if __name__ == "__main__":
    serve()
