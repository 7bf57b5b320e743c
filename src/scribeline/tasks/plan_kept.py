"""What long work on a plan came to, kept in files beside the notebook: it outlives the page, its worker and the server.

Each kind of work has one file for each cylinder, replaced whole, and names by `of` the work in hand that it is of, so
that a page can say "of the plan before your last change" instead of letting it vanish.
"""

import hashlib
import json
import os
from collections.abc import Mapping
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import Any, Literal

from scribeline._compiled_cache import digest_of
from scribeline.engine import EngineRecord
from scribeline.errors import SheetError
from scribeline.plan.steps import Plan

Kind = Literal["curve", "inside", "who", "search", "stacks", "cut"]
_ROOMS = ("kernels", "models", "cycle", "geometry", "engine", "plan")
MOST_JOURNALS = 10


def folder_of(folder: Path, build: str) -> Path:
    """Where the files of one cylinder are, made where there is none; the name of a build can hold anything."""
    place = folder / "plan" / hashlib.sha256(build.encode()).hexdigest()[:20]
    try:
        place.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise SheetError(
            f"{place}: {error.strerror or error}\n    accepted: a folder beside the notebook that can be written to\n"
            "    what to do: make room, or allow scribeline to write there"
        ) from None
    return place


def keep(place: Path, kind: Kind, document: Mapping[str, Any]) -> None:
    """Replace what is kept of one kind: the old file or the new one is there, whatever happens. Raises SheetError."""
    path = place / f"{kind}.json"
    unfinished = place / f".{kind}.{os.getpid()}.part"
    try:
        with unfinished.open("w", encoding="utf-8") as file:
            json.dump(document, file, ensure_ascii=False, allow_nan=False)
            file.flush()
            os.fsync(file.fileno())
        unfinished.replace(path)
    except OSError as error:
        with suppress(OSError):
            unfinished.unlink()
        raise SheetError(
            f"{path}: {error.strerror or error}\n    accepted: room on the disk, and leave to write there\n"
            "    what to do: make room, then start this again"
        ) from None


def kept(place: Path, kind: Kind) -> dict[str, Any] | None:
    """What is kept of one kind; None where there is nothing, or nothing that can be read."""
    try:
        found = json.loads((place / f"{kind}.json").read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    return found if isinstance(found, dict) else None


def kept_at(place: Path, kind: Kind) -> int:
    """When what is kept of one kind was replaced last, ns; 0 for never."""
    try:
        return (place / f"{kind}.json").stat().st_mtime_ns
    except OSError:
        return 0


def of_plan(record: EngineRecord, plan: Plan) -> str:
    """A short name of everything that a curve of this plan depends on."""
    return _digest(record.model_dump_json(), repr(plan.steps), plan.box.model_dump_json())


def of_who(record: EngineRecord, plan: Plan) -> str:
    """The same for who limits what, which depends on the goal as well, and without steps on the tools."""
    more = plan.wanted.model_dump_json() if not plan.steps else plan.wanted.goal
    return _digest(of_plan(record, plan), more)


def of_search(record: EngineRecord, plan: Plan, evaluations: int) -> str:
    """The same for a search: not the steps, but everything that is wanted, the limits and how long it may go on."""
    return _digest(
        record.model_dump_json(), plan.box.model_dump_json(), plan.wanted.model_dump_json(),
        plan.limits.model_dump_json(), str(evaluations),
    )  # fmt: skip


def of_stacks(record: EngineRecord, plan: Plan) -> str:
    """The same for gasket stacks: the engine, the box, the tools and the limits of the gap."""
    tools = repr(plan.wanted.tools)
    return _digest(record.model_dump_json(), plan.box.model_dump_json(), tools, plan.limits.model_dump_json())


def of_cut(record: EngineRecord, plan: Plan) -> str:
    """The same for a cut list, which carries the plan's name and says which limits are off."""
    return _digest(of_plan(record, plan), plan.name, plan.limits.model_dump_json())


def journal_of(place: Path, record: EngineRecord, plan: Plan) -> Path:
    """The journal of a search: the same question finds the same one again, however long it may go on this time.

    A program that simulates otherwise begins anew. The oldest of more than MOST_JOURNALS go.
    """
    name = _digest(of_search(record, plan, 0), program())
    wanted = place / f"journal-{name}.json"
    with suppress(OSError):
        old = sorted(
            (one for one in place.glob("journal-*.json") if one != wanted), key=lambda one: one.stat().st_mtime
        )
        for one in old[: max(0, len(old) - MOST_JOURNALS + 1)]:
            one.unlink()
    return wanted


def _digest(*parts: str) -> str:
    return hashlib.sha256("\n".join(parts).encode()).hexdigest()[:20]


@cache
def program() -> str:
    """A short name of the program as far as a simulation depends on it."""
    return digest_of(_ROOMS)
