"""A plan as a TOML file: its steps in order, what is at hand for them, and the limits the builder set.

    scribeline_plan = 1
    name = "Squish first, then the exhaust"

    [[steps]]
    do = "raise exhaust roof"
    at = "exhaust"
    up_mm = 1.2

The amount of a step stands under the key of its operation's amount, with the unit in it. Whatever is wrong is refused
together: the line, the value, what is accepted and what to do.
"""

import difflib
import math
from pathlib import Path
from typing import Any

import tomlkit

from scribeline.engine.lines import Location, line_of
from scribeline.engine.writing import table_of_part
from scribeline.errors import PlanError, Problem
from scribeline.plan.box import Box
from scribeline.plan.description import Operation
from scribeline.plan.limit_table import LimitTable
from scribeline.plan.operations import BY_KEY
from scribeline.plan.reading import table_of, text_of, validated
from scribeline.plan.steps import Plan, Step
from scribeline.plan.wanted import Wanted

VERSION = 1
_TOP = ("scribeline_plan", "name", "note", "invented", "steps", "box", "limits", "wanted")


def read_plan(text: str, origin: str = "plan") -> Plan:
    """Read a plan from TOML text.

    Only what the file itself decides is judged: whether an engine allows the steps is `carry_out`'s. Raises PlanError.

    >>> read_plan('scribeline_plan = 1\\n[[steps]]\\ndo = "raise exhaust roof"\\nat = "exhaust"\\nup_mm = 1.2').steps
    (Step(do='raise exhaust roof', at='exhaust', amount=1.2, choice='', details=()),)
    """
    return plan_of_table(*table_of(text, origin), origin)


def plan_of_table(data: dict[str, Any], lines: dict[Location, int] | None = None, origin: str = "plan") -> Plan:
    """A plan from the table that its file holds; `lines` : where each value stands in it. Raises PlanError."""
    lines = lines or {}
    problems = [_unknown((key,), value, _TOP, lines) for key, value in data.items() if key not in _TOP]
    if data.get("scribeline_plan") != VERSION:
        value = _shown(data.get("scribeline_plan"))
        problems.append(
            Problem("scribeline_plan", line_of(("scribeline_plan",), lines), value, "1", "write scribeline_plan = 1")
        )
    words = {}
    for key in ("name", "note"):
        words[key] = data.get(key, "plan" if key == "name" else "")
        if not isinstance(words[key], str):
            problems.append(
                Problem(key, line_of((key,), lines), _shown(words[key]), "text", "put it in quotation marks")
            )
    invented = data.get("invented", False)
    if not isinstance(invented, bool):
        where = line_of(("invented",), lines)
        problems.append(
            Problem("invented", where, _shown(invented), "true or false", "write it without quotation marks")
        )
    steps = []
    listed = data.get("steps", [])
    if not isinstance(listed, list) or not all(isinstance(one, dict) for one in listed):
        problems.append(
            Problem(
                "steps", line_of(("steps",), lines), _shown(listed), "[[steps]] tables", "begin each with [[steps]]"
            )
        )
        listed = []
    for index, table in enumerate(listed):
        step, wrong = step_of_table(table, index, lines)
        problems += wrong
        steps += [step] if step else []
    box, limits = _part(data, "box", Box, lines, problems), _part(data, "limits", LimitTable, lines, problems)
    wanted = _part(data, "wanted", Wanted, lines, problems)
    if problems:
        raise PlanError(sorted(problems, key=lambda one: (one.line or 0, one.where)), origin)
    return Plan(tuple(steps), box, words["name"], words["note"], limits, invented, wanted)


def read_plan_file(path: Path) -> Plan:
    """Read a plan from a file; PlanError where it cannot be opened or is refused."""
    return read_plan(text_of(path), str(path))


def write_plan(plan: Plan) -> str:
    """TOML text of a plan; reading it back gives an equal plan."""
    document = tomlkit.document()
    document.add("scribeline_plan", VERSION)
    document.add("name", plan.name)
    if plan.note:
        document.add("note", plan.note)
    if plan.invented:
        document.add("invented", True)
    steps = tomlkit.aot()
    for step in plan.steps:
        table = tomlkit.table()
        for key, value in step_table(step).items():
            table.add(key, value)
        steps.append(table)
    if plan.steps:
        document.add("steps", steps)
    for key, part in (("wanted", plan.wanted), ("limits", plan.limits), ("box", plan.box)):
        if part != type(part)():
            document.add(key, table_of_part(part, comments=False))
    return tomlkit.dumps(document)


def step_table(step: Step) -> dict[str, str | float]:
    """A step as its table in a file: what, where, how much under the key that says the unit."""
    operation = BY_KEY[step.do]
    table: dict[str, str | float] = {"do": step.do}
    if step.at:
        table["at"] = step.at
    if step.choice:
        table["choice"] = step.choice
    if step.amount is not None and operation.amount is not None:
        table[operation.amount.key] = step.amount
    return table | dict(step.details)


def _part(data: dict[str, Any], key: str, model: type[Any], lines: dict[Location, int], problems: list[Problem]) -> Any:
    table = data.get(key, {})
    if not isinstance(table, dict):
        problems.append(Problem(key, line_of((key,), lines), _shown(table), f"a table [{key}]", f"write [{key}]"))
        return model()
    part, wrong = validated(table, lines, model, (key,))
    problems += [Problem(f"{key}.{one.where}", one.line, one.value, one.accepted, one.remedy) for one in wrong]
    return part if part is not None else model()


def step_of_table(
    table: dict[str, Any], index: int, lines: dict[Location, int] | None = None
) -> tuple[Step | None, list[Problem]]:
    """One step from its table in a plan's file, or what is wrong with it; `index` : its place there, from 0."""
    lines = lines or {}
    place: Location = ("steps", index)
    do = table.get("do")
    operation = BY_KEY.get(do) if isinstance(do, str) else None
    if operation is None:
        close = difflib.get_close_matches(str(do), BY_KEY, n=1, cutoff=0.4)
        remedy = f"did you mean {close[0]}?" if close else "choose one of the operations"
        value = _shown(do) if do is not None else "nothing"
        return None, [_at((*place, "do"), lines, value, "one of: " + ", ".join(BY_KEY), remedy)]
    numbers = _numbers(operation)
    known = ("do", "at", "choice", *numbers)
    problems = [_unknown((*place, key), value, known, lines) for key, value in table.items() if key not in known]
    for key in ("at", "choice"):
        if not isinstance(table.get(key, ""), str):
            problems.append(_at((*place, key), lines, _shown(table[key]), "text in quotation marks", "write a name"))
    given: dict[str, float] = {}
    for key, accepted in numbers.items():
        number = table.get(key)
        if isinstance(number, bool) or not isinstance(number, int | float | None) or not math.isfinite(number or 0.0):
            remedy = "write the number alone, without quotation marks or unit"
            problems.append(_at((*place, key), lines, _shown(number), accepted, remedy))
        elif number is not None:
            given[key] = float(number)
    if problems:
        return None, problems
    amount = given.pop(operation.amount.key, None) if operation.amount else None
    return Step(operation.key, table.get("at", ""), amount, table.get("choice", ""), tuple(sorted(given.items()))), []


def _numbers(operation: Operation) -> dict[str, str]:
    amounts = ([operation.amount] if operation.amount else []) + list(operation.details)
    return {one.key: f"a number, {one.accepted}" for one in amounts}


def _unknown(place: Location, value: Any, known: tuple[str, ...], lines: dict[Location, int]) -> Problem:
    close = difflib.get_close_matches(str(place[-1]), known, n=1)
    remedy = f"did you mean {close[0]}?" if close else "take it out, or put it under `note`"
    return _at(place, lines, _shown(value), "one of: " + ", ".join(known), remedy)


def _at(place: Location, lines: dict[Location, int], value: str, accepted: str, remedy: str) -> Problem:
    where = ".".join(str(part + 1) if isinstance(part, int) else part for part in place)
    return Problem(where, line_of(place, lines), value, accepted, remedy)


def _shown(value: Any) -> str:
    text = f'"{value}"' if isinstance(value, str) else str(value).lower() if isinstance(value, bool) else str(value)
    return text if len(text) <= 80 else text[:77] + "..."
