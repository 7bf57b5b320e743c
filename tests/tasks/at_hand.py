"""The demonstration kart and its plan as a document of the work in hand, for tests of what the pages call."""

import tomllib
from copy import deepcopy
from functools import cache
from typing import Any

from tests.examples import FOLDER, KART


@cache
def _whole() -> dict[str, Any]:
    record, plan = (tomllib.loads((FOLDER / f"{KART}{one}.toml").read_text("utf-8")) for one in ("", "-plan"))
    del plan["scribeline_plan"]
    return {"record": record, "plan": plan, "marking": {}}


def document(**marking: Any) -> dict[str, Any]:
    """A document of one's own; `marking` : its key of marking out."""
    return {**deepcopy(_whole()), "marking": marking}
