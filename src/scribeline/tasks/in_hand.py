"""Record and plan in the document of the work in hand: out of it as text that every room reads, and back into it."""

import tomllib
from collections.abc import Mapping
from typing import Any

import tomlkit

from scribeline.engine import EngineRecord, Part, write_record
from scribeline.engine.writing import table_of_part
from scribeline.errors import PlanError, Problem
from scribeline.plan.plan_file import VERSION, step_table
from scribeline.plan.steps import Plan

_OF_A_FILE = ("name", "note", "invented", "steps", "limits", "box")


def record_toml(document: Mapping[str, Any]) -> str:
    """The record in hand as TOML text: complete or not, `read_record` judges it.

    >>> record_toml({"record": {"name": "kart", "crank": {"stroke_mm": 50.0, "rod_length_mm": None}}})
    'name = "kart"\\n\\n[crank]\\nstroke_mm = 50.0\\n'
    """
    return tomlkit.dumps(_without_none(document.get("record") or {}))


def plan_toml(document: Mapping[str, Any]) -> str:
    """The plan in hand as the text of a plan file; "" where no step has been chosen.

    What the page of planning keeps beside the plan, such as its goal, is left out: a plan file does not know it.
    """
    plan = _without_none(document.get("plan") or {})
    if not plan.get("steps"):
        return ""
    try:
        return tomlkit.dumps({"scribeline_plan": VERSION} | {key: plan[key] for key in _OF_A_FILE if key in plan})
    except (TypeError, ValueError) as error:  # what JSON holds and TOML does not
        remedy = "open the plan and choose its steps again"
        raise PlanError([Problem("plan", None, str(error)[:80], "steps as a plan file has them", remedy)]) from None


def record_document(record: EngineRecord) -> dict[str, Any]:
    """A record as it stands in the document."""
    return tomllib.loads(write_record(record, comments=False))


def part_document(part: Part) -> dict[str, Any]:
    """One part of a record as it stands in the document."""
    return dict(table_of_part(part, comments=False).unwrap())


def steps_document(plan: Plan) -> list[dict[str, Any]]:
    """A plan's steps as they stand in the document."""
    return [dict(step_table(step)) for step in plan.steps]


def _without_none(value: Any) -> Any:
    """What was taken out again, which TOML has no sign for, left out."""
    if isinstance(value, Mapping):
        return {str(key): _without_none(one) for key, one in value.items() if one is not None}
    if isinstance(value, list | tuple):
        return [_without_none(one) for one in value if one is not None]
    return value
