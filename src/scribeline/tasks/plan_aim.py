"""What a builder wants and has, as the plan page asks for it: goals, parts at hand, limits, in and out of documents."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from scribeline.engine import EngineRecord, read_record
from scribeline.errors import PlanError, Problem, SearchError
from scribeline.notebook import Notebook
from scribeline.plan.box import Box, read_box
from scribeline.plan.limit_table import OneLimit
from scribeline.plan.limits import Limit, limits
from scribeline.plan.not_held import limit_words
from scribeline.plan.plan_file import read_plan
from scribeline.plan.search_goals import ACCEPTED, WORDS, goal_of
from scribeline.plan.search_space import CUTTING_TOOLS, USUAL_TOOLS
from scribeline.plan.steps import Plan
from scribeline.plan.typed_gaskets import gaskets_of
from scribeline.sources import source
from scribeline.tasks.plan import pipe_of_record
from scribeline.tasks.plan_in_hand import PlanInHand, plain
from scribeline.units import Units, show

ALSO_WORDS = {
    "pull": "pull low down", "trapped": "trapped mass", "knock": "knock margin", "peak": "most power",
    "band": "power in the band",
}  # fmt: skip
TOOLS = CUTTING_TOOLS
"""Tools that decide what can be done, in the order that they are listed."""
_KINDS = ("pipes", "sections", "reeds", "petals", "carburettors")


@dataclass(frozen=True)
class GoalParts:
    """A goal in its parts; first, last only for a band. unit : of `least`, what is enough."""

    which: str
    first: float | None
    last: float | None
    least: float | None
    unit: str


def goal_parts(typed: str, record: EngineRecord) -> GoalParts:
    """The parts of a typed goal; those of "most" where it cannot be read. The band begins round the engine's speed."""
    try:
        goal = goal_of(typed or "most")
    except SearchError:
        goal = goal_of("most")
    rpm = record.speed_rpm
    first, last = goal.band or (500.0 * round(0.85 * rpm / 500.0), 500.0 * round(1.1 * rpm / 500.0))
    which = "band" if goal.band else next(word for word, merit in WORDS.items() if merit == goal.merit)
    return GoalParts(which, first, last, goal.least, goal.number.unit)


@dataclass(frozen=True)
class GoalTyped:
    """What stands in the four fields of a goal."""

    which: str
    first: str
    last: str
    least: str

    def typed(self) -> str:
        """The goal as it is typed; SearchError where it cannot be read.

        >>> GoalTyped("band", "8000", "10500", "12").typed()
        '8000:10500=12'
        """
        words = f"{_digits(self.first)}:{_digits(self.last)}" if self.which == "band" else self.which
        least = _digits(self.least)
        typed = f"{words}={least}" if least else words
        try:
            goal_of(typed)
        except SearchError:
            raise SearchError(
                f"The goal {typed} cannot be read.\n    accepted: {ACCEPTED}\n    what to do: correct the numbers"
            ) from None
        return typed


def _digits(typed: str) -> str:
    return re.sub(r"\s|(?<=\d),(?=\d{3}\b)", "", typed or "")


def tools_at_hand(plan: Plan) -> tuple[str, ...]:
    """The tools of a plan, the usual ones where nothing was said."""
    return USUAL_TOOLS if plan.wanted.tools is None else plan.wanted.tools


def tools_with(plan: Plan, tool: str, there: bool) -> list[str]:
    """The tools of a plan with one more or one fewer, in the order that they are listed."""
    now = tools_at_hand(plan)
    return [one for one in CUTTING_TOOLS if (there if one == tool else one in now)]


def also_with(plan: Plan, word: str, kept: bool) -> list[str]:
    """What is kept high besides, with one more or one fewer."""
    now = kept_words(plan.wanted.also)
    return [one for one in ALSO_WORDS if (kept if one == word else one in now)]


def kept_words(also: tuple[str, ...] | None) -> tuple[str, ...]:
    """What is kept high besides, with the usual where nothing was said."""
    return ("pull",) if also is None else also


SHEETS_EXAMPLE: Mapping[Units, str] = {
    "mm": "base 0.5x2 0.3, head 0.8",
    "inch": "base 0.020x2 0.012, head 0.032, inches",
}
"""How a list of gasket sheets is typed."""


def sheets_typed(typed: str, units: Units = "mm") -> list[dict[str, Any]]:
    """Gasket sheets from a typed list as in SHEETS_EXAMPLE, as a document has them. SearchError."""
    try:
        return [_document(sheet) for sheet in gaskets_of(typed, units).gaskets]
    except SearchError as refused:
        raise SearchError(str(refused).replace("--gaskets", "The list")) from None


def count_typed(typed: str) -> int:
    """How many sheets of one kind there are, 1 to 12. PlanError."""
    if not re.fullmatch(r"\s*(?:[1-9]|1[0-2])\s*", typed):
        raise PlanError([Problem("count", None, typed or "nothing", "1 to 12", "count the sheets")])
    return int(typed)


def _document(part: Any) -> dict[str, Any]:
    """A part of the box as its table, without what is at its default."""
    return dict(part.model_dump(mode="json", exclude_defaults=True, by_alias=True))


def other_parts(box: Box) -> list[tuple[str, int, str]]:
    """Everything at hand but gaskets: kind, place in its list, name."""
    return [(kind, place, one.name) for kind in _KINDS for place, one in enumerate(getattr(box, kind))]


def without_part(box: Mapping[str, Any] | None, kind: str, place: int) -> dict[str, Any]:
    """The box of a document without one part."""
    table = plain(box)
    left = [one for number, one in enumerate(table.get(kind, [])) if number != place]
    return {key: value for key, value in {**table, kind: left}.items() if value != []}


def box_read(box: Mapping[str, Any] | None, content: bytes, name: str) -> dict[str, Any]:
    """The box of a document with the parts of a file added to it. PlanError where the file is no list of parts."""
    return _together(box, read_box(_text(content, name), name))


def pipe_of_build(box: Mapping[str, Any] | None, build: str, notebook: Notebook) -> dict[str, Any]:
    """The box of a document with the pipe of another cylinder in it. PlanError where that has no pipe."""
    return with_pipe(box, build, read_record(notebook.revision(build).record_toml, build))


def with_pipe(box: Mapping[str, Any] | None, name: str, record: EngineRecord) -> dict[str, Any]:
    """The box of a document with the pipe of a record in it, under this name. PlanError where it has none."""
    return _together(box, Box(pipes=(pipe_of_record(name, record),)))


def _together(box: Mapping[str, Any] | None, more: Box) -> dict[str, Any]:
    table, added = plain(box), _document(more)
    for key, value in added.items():
        table[key] = [*table.get(key, []), *value] if isinstance(value, list) else value
    return dict(table)


def _text(content: bytes, name: str) -> str:
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError:
        remedy = "choose a file that scribeline wrote, or save it again as UTF-8"
        raise PlanError([Problem("file", None, name[:60], "a TOML file", remedy)], name[:60]) from None


@dataclass(frozen=True)
class BoundRow:
    """One limit. now : the engine's number after the plan; low, high : the builder's own bounds

    usual : the usual bounds in words, mm; sides : which of "low" and "high" it usually has
    """

    name: str
    label: str
    unit: str
    now: float | None
    usual: str
    source: str
    low: float | None
    high: float | None
    sides: tuple[str, ...]
    off: bool


def bounds_of(hand: PlanInHand) -> list[BoundRow]:
    """Every limit with a bound, those the engine has a number for first."""
    own = {one.name: one for one in hand.plan.limits.set}
    rows = []
    for limit in limits(hand.record):
        worked = hand.after.values.get(limit.name)
        unit = worked.unit if worked else "mm" if limit.name.endswith("_mm") else "ratio"
        mine = own.get(limit.name, OneLimit(name=limit.name))
        sides = tuple(side for side, bound in (("low", limit.low), ("high", limit.high)) if bound is not None)
        rows.append(
            BoundRow(
                limit.name, limit_label(hand, limit.name), unit,
                worked.value if worked else None, _usual(limit, unit), source(limit.source).kind, mine.low, mine.high,
                sides, mine.off,
            )
        )  # fmt: skip
    return sorted(rows, key=lambda row: row.now is None)


def limit_label(hand: PlanInHand, name: str) -> str:
    """What a limit is called: as its number, or as what it is about where this engine has no such number."""
    worked = hand.after.values.get(name)
    return worked.label if worked else limit_words(name)


def _usual(limit: Limit, unit: str) -> str:
    ends = [f"not below {show(limit.low, unit)}"] if limit.low is not None else []
    ends += [f"not above {show(limit.high, unit)}"] if limit.high is not None else []
    return "Usually " + ", ".join(ends)


_ASIDE: Any = object()


def limits_with(
    table: Mapping[str, Any] | None, name: str, *, low: Any = _ASIDE, high: Any = _ASIDE, off: Any = _ASIDE
) -> dict[str, Any]:
    """The limits of a document with one of them set; one that says nothing any more is left out.

    >>> limits_with(None, "squish_gap_min_mm", low=0.6)
    {'set': [{'name': 'squish_gap_min_mm', 'low': 0.6}]}
    """
    found: Sequence[Any] = plain(table).get("set", [])
    one = next((dict(entry) for entry in found if entry.get("name") == name), {"name": name})
    for key, value in (("low", low), ("high", high), ("off", off)):
        if value is not _ASIDE:
            one[key] = value
    one = {key: value for key, value in one.items() if value is not None and value is not False}
    others = [dict(entry) for entry in found if entry.get("name") != name]
    return {"set": [*others, *([one] if set(one) - {"name", "why"} else [])]}


def plan_read(content: bytes, name: str) -> Plan:
    """A plan from a file that was handed over. PlanError."""
    return read_plan(_text(content, name), name[:60])
