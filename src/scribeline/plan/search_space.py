"""What may be searched: the operations this engine, the parts at hand and the builder's tools allow, and how far each.

A search only sees work with one amount or one choice. What needs a drawing first (a new port, another squish band) is
for a builder to think out and to try with `scribeline plan`; `left_out` says so.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from scribeline.engine import EngineRecord
from scribeline.errors import GeometryError, PlanError, RecordError, SearchError, WorkingError
from scribeline.geometry.work_out import WorkedOut, work_out
from scribeline.plan.box import Box
from scribeline.plan.carry_out import carry_out, possible_for
from scribeline.plan.description import Possible
from scribeline.plan.limit_table import LimitTable
from scribeline.plan.limits import limits
from scribeline.plan.operations.gaskets import NONE
from scribeline.plan.search import Amount, Design, Option, Variable
from scribeline.plan.steps import Step

AS_IT_IS = "as it is"
NO_ENGINE = "no engine"
GROUPS = ("compression", "ports", "intake", "pipe", "ignition")


@dataclass(frozen=True)
class Reach:
    """How far a search may go with an operation. All of it is judgement, no source.

    most, step, least, low : see `search.Amount`, in the operation's unit; plus_minus : of work by hand
    parts : words by which a builder may keep it as it is
    """

    group: str
    most: float = 0.0
    step: float = 0.0
    least: float = 0.0
    low: float = 0.0
    plus_minus: float = 0.0
    parts: tuple[str, ...] = ()


_HAND_MM = 0.2  # a file or die grinder to a scribed line; judgement, no source
REACHES: Mapping[str, Reach] = {
    "swap base gasket": Reach("compression", parts=("gaskets",)),
    "swap head gasket": Reach("compression", parts=("gaskets",)),
    "deck barrel top": Reach("compression", 1.0, 0.05, 0.05, plus_minus=0.03, parts=("barrel",)),
    "deck barrel base": Reach("compression", 1.0, 0.05, 0.05, plus_minus=0.03, parts=("barrel",)),
    "face head": Reach("compression", 1.0, 0.05, 0.05, plus_minus=0.03, parts=("head",)),
    "raise exhaust roof": Reach("ports", 3.0, 0.1, 0.2, plus_minus=_HAND_MM, parts=("exhaust port",)),
    "lower exhaust floor": Reach("ports", 2.0, 0.1, 0.3, plus_minus=_HAND_MM, parts=("exhaust port",)),
    "widen exhaust": Reach("ports", 6.0, 0.2, 0.4, plus_minus=_HAND_MM, parts=("exhaust port",)),
    "raise transfer roof": Reach("ports", 1.5, 0.1, 0.2, plus_minus=_HAND_MM, parts=("transfers",)),
    "widen transfer": Reach("ports", 4.0, 0.2, 0.4, plus_minus=_HAND_MM, parts=("transfers",)),
    "lower intake floor": Reach("intake", 4.0, 0.1, 0.2, plus_minus=_HAND_MM, parts=("intake port",)),
    "widen intake": Reach("intake", 4.0, 0.2, 0.4, plus_minus=_HAND_MM, parts=("intake port",)),
    "trim skirt": Reach("intake", 3.0, 0.1, 0.3, plus_minus=_HAND_MM, parts=("piston",)),
    "change tract length": Reach("intake", 40.0, 5.0, 10.0, low=-40.0, plus_minus=1.0, parts=("tract",)),
    "fit reed": Reach("intake", parts=("reed",)),
    "fit other reed block": Reach("intake", parts=("reed",)),
    "fit other petals": Reach("intake", parts=("reed",)),
    "fit other carburettor": Reach("intake", parts=("carburettor",)),
    "change pipe length": Reach("pipe", 80.0, 5.0, 10.0, low=-80.0, plus_minus=2.0),
    "swap pipe": Reach("pipe"),
    "change ignition advance": Reach("ignition", 3.0, 0.5, 1.0, low=-3.0, plus_minus=1.0),
}
CUTTING_TOOLS = (
    "file",
    "die grinder",
    "right-angle handpiece",
    "glass plate",
    "lathe",
    "mill",
    "welding",
    "saw",
    "timing light",
)
"""Tools that decide what can be done. What everybody has who measures an engine (caliper, spanner, solder) does not."""
USUAL_TOOLS = ("file", "glass plate", "saw")
_MIXTURE = "mixture, oil and fuel: a leaner mixture would look better in a simulation that knows nothing of seizing"


@dataclass(frozen=True)
class Space:
    """What is searched for one engine.

    variables : of the search; possible : what each stands for; left_out : what is not searched, and why
    """

    record: EngineRecord
    box: Box
    variables: tuple[Variable, ...]
    possible: Mapping[str, Possible]
    left_out: tuple[str, ...]
    before: Mapping[str, float]
    widths: Mapping[str, float]
    mend: bool = False
    table: LimitTable = field(default_factory=LimitTable)

    def steps(self, design: Design) -> tuple[Step, ...]:
        """The steps a design stands for, in the order of work: squish and deck first, then ports, then the rest."""
        found = []
        for one in self.variables:
            value = design.get(one.name, 0.0)
            operation, target = self.possible[one.name].operation, self.possible[one.name].target
            if isinstance(value, str):
                if value != AS_IT_IS:
                    found.append((operation.stage, Step(operation.key, target, choice=value)))
            elif value != 0.0:
                found.append((operation.stage, Step(operation.key, target, amount=value)))
        return tuple(step for _, step in sorted(found, key=lambda one: one[0]))

    def built(self, design: Design) -> EngineRecord:
        """The record after a design; raises PlanError where it cannot be made."""
        return carry_out(self.record, self.steps(design), self.box)

    def passed(self, design: Design) -> dict[str, float]:
        """By how much a design passes each limit, in its unit; those it keeps left out. NO_ENGINE where none can be.

        A limit counts from its bound less the +/- that the number has today. Unless `mend`, one that today's engine
        passes already may stay passed, and not be passed further: the search need not mend everything.
        """
        return self.looked_at(design)[0]

    def looked_at(self, design: Design) -> tuple[dict[str, float], WorkedOut | None]:
        """What `passed` says, and the design worked out; None where there is no engine."""
        try:
            out = work_out(self.built(design), draws=0)
        except (PlanError, RecordError, GeometryError, WorkingError):
            return {NO_ENGINE: 1.0}, None
        over = {}
        for name, by in beyond(out, self.widths, self.table).items():
            allowed = 0.0 if self.mend else max(self.before[name], 0.0)
            if by > allowed + 1e-9:  # rounding is no offence
                over[name] = by - allowed
        return over, out


def space_for(
    record: EngineRecord,
    box: Box | None = None,
    tools: Sequence[str] = USUAL_TOOLS,
    keep: Sequence[str] = (),
    *,
    mend: bool = False,
    table: LimitTable | None = None,
) -> Space:
    """What may be searched for an engine.

    tools : of CUTTING_TOOLS; keep : groups, parts, operations or targets to leave as they are
    mend : whether limits that today's engine passes already must be kept too; table : limits that the builder set
    SearchError for a tool or part that is not known, and where nothing is left to search.
    """
    for tool in tools:
        if tool not in CUTTING_TOOLS:
            raise SearchError(
                f"--tools {tool}\n    accepted: {', '.join(CUTTING_TOOLS)}\n    what to do: choose of these"
            )
    at_hand = box or Box()
    possible = possible_for(record, at_hand)
    _refuse_unknown(keep, possible)
    found: dict[str, Possible] = {}
    variables: list[Variable] = []
    left_out = [_MIXTURE]
    for one in possible:
        key = one.operation.key
        reach = REACHES.get(key)
        if reach is None:
            continue
        words = {reach.group, key, one.target, *reach.parts}
        if kept := words & set(keep):
            left_out.append(f"{_named(one)}: to be kept ({', '.join(sorted(kept))})")
            continue
        if missing := lacking(one.operation.tools, tools):
            left_out.append(f"{_named(one)}: needs {' and '.join(missing)}")
            continue
        variable = _variable(record, one, reach)
        if variable is not None:
            found[variable.name] = one
            variables.append(variable)
    others = sorted({one.operation.key for one in possible if one.operation.key not in REACHES})
    left_out.append("what needs a drawing of your own or more than one number: " + ", ".join(others))
    if not variables:
        raise SearchError(
            "nothing is left to search: " + "; ".join(left_out[1:]) + "\n    accepted: tools, parts at hand or less to "
            "keep\n    what to do: allow something"
        )
    out = work_out(record)
    widths = {name: worked.plus_minus or 0.0 for name, worked in out.values.items()}
    own = table or LimitTable()
    before = beyond(out, widths, own)
    return Space(record, at_hand, tuple(variables), found, tuple(dict.fromkeys(left_out)), before, widths, mend, own)


def beyond(out: WorkedOut, widths: Mapping[str, float], table: LimitTable | None = None) -> dict[str, float]:
    """By how much each limit is passed, its +/- included; minus where it is kept. Limits of numbers it lacks: -inf."""
    found: dict[str, float] = {}
    for limit in limits(out.record, table):
        worked = out.values.get(limit.name)
        key = limit.name
        if worked is None or worked.value is None:
            found[key] = float("-inf")
            continue
        width = widths.get(key, 0.0)
        ends = [worked.value + width - limit.high] if limit.high is not None else []
        ends += [limit.low - worked.value + width] if limit.low is not None else []
        found[key] = max(ends)
    return found


def lacking(needed: Sequence[str], tools: Sequence[str]) -> list[str]:
    """Of what an operation needs, each thing for which none of the tools at hand will do.

    >>> lacking(("file or die grinder", "caliper"), ("file",)), lacking(("lathe or mill",), ("file",))
    ([], ['lathe or mill'])
    """

    def named(text: str) -> list[str]:
        return [tool for tool in CUTTING_TOOLS if re.search(rf"\b{tool}\b", text)]

    return [text for text in needed if named(text) and not set(named(text)) & set(tools)]


def group_of(step: Step) -> str:
    """The group of GROUPS that a step belongs to; "other" where it is of none."""
    return REACHES[step.do].group if step.do in REACHES else "other"


def metal_mm(steps: Sequence[Step], record: EngineRecord, box: Box | None = None) -> float:
    """Metal that cannot be put back: the depths of all cuts into barrel, head and piston added up, mm."""
    from scribeline.plan.operations import BY_KEY

    total = 0.0
    for step in steps:
        amount = BY_KEY[step.do].amount
        if amount is not None and amount.metal and amount.unit == "mm":
            total += step.amount or 0.0
    return round(total, 9)


def _variable(record: EngineRecord, one: Possible, reach: Reach) -> Variable | None:
    name = _named(one)
    if one.operation.choices is not None:
        options = [choice for choice in one.choices if not _same(record, one, choice)]
        return Option(name, (AS_IT_IS, *options)) if options else None
    if one.amount is None or not _sensible(record, one):
        return None
    most, low = min(reach.most, one.amount.high), max(reach.low, one.amount.low)
    if most < max(reach.least, reach.step):
        return None
    return Amount(name, most, reach.step, reach.least, low)


def _same(record: EngineRecord, one: Possible, choice: str) -> bool:
    """Whether a choice changes nothing, or leaves a side bare that has a gasket today."""
    side = {"swap base gasket": "base", "swap head gasket": "head"}.get(one.operation.key)
    if side is None:
        return False
    today = [f"fitted {number}" for number in range(1, len(getattr(record.gaskets, side)) + 1)]
    return sorted(choice.split(" + ")) == today or (choice == NONE and bool(today)) or (choice == NONE and not today)


def _sensible(record: EngineRecord, one: Possible) -> bool:
    """Of several targets that do the same the ones that a hand would take.

    Transfers move together; only straight tubes of a pipe are cut and sleeved, and not the stinger; of the skirt the
    intake side.
    """
    key, target = one.operation.key, one.target
    if key in ("raise transfer roof", "widen transfer"):
        return target == "all transfers" or sum(port.role.endswith("transfer") for port in record.ports) < 2
    if key == "trim skirt":
        return target == "intake side" and record.intake is not None and record.intake.control == "piston port"
    if key == "change pipe length":
        sections = record.exhaust.sections if record.exhaust else ()
        names = [one.name or str(number) for number, one in enumerate(sections, start=1)]
        at = names.index(target)
        nearly_straight = (
            abs(sections[at].start_mm.value - sections[at].end_mm.value) <= 0.15 * sections[at].start_mm.value
        )
        return nearly_straight and at < len(sections) - 1
    if key == "change tract length":
        return target != "carburettor"
    return True


def _named(one: Possible) -> str:
    return one.operation.key + (f" at {one.target}" if one.target else "")


def _refuse_unknown(keep: Sequence[str], possible: Sequence[Possible]) -> None:
    known = set(GROUPS) | {part for reach in REACHES.values() for part in reach.parts} | set(REACHES)
    known |= {one.target for one in possible if one.target}
    for word in keep:
        if word not in known:
            raise SearchError(
                f"--keep {word}\n    accepted: {', '.join(sorted(known))}\n    what to do: choose of these"
            )
