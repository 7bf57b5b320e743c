"""The staged cut list of a plan: what to scribe, where to stop, what to measure before going on, what to expect.

Heights are given from the deck as it is at the start and from the deck as it is when the line is scribed: they differ
by what came off the barrel's top in between. `sheets` prints what stands here; nothing is drawn or written here.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from math import ceil, hypot, isnan
from types import MappingProxyType

from scribeline.engine import EngineRecord, Port, Reading, readings
from scribeline.errors import PlanError, Problem, ScribelineError
from scribeline.geometry import kinematics
from scribeline.geometry.refit import wheel_error_deg
from scribeline.geometry.windows import arc_from_chord_mm
from scribeline.geometry.work_out import WorkedOut, work_out
from scribeline.plan.carry_out import carry_out_one, with_usual
from scribeline.plan.description import Instruction, Operation, Stage
from scribeline.plan.edges import Edge, chord_mm, edge_depths_mm
from scribeline.plan.operations import BY_KEY
from scribeline.plan.order import Reordered
from scribeline.plan.phrases import shown
from scribeline.plan.steps import Step
from scribeline.plan.what_if import Moved, WhatIf, what_moved

# How far a careful hand may miss, by what is cut [mm]: judgement, no source. A face on glass or in a lathe is held by
# the tool, a port by the eye.
HAND_MM: Mapping[Stage, float] = MappingProxyType({Stage.DECK: 0.03, Stage.PORTS: 0.2, Stage.PISTON: 0.2})
# What the edge in question is measured with meanwhile: its usual +/- [mm], as in engine.measured.
INSTRUMENT_MM: Mapping[Stage, float] = MappingProxyType({Stage.DECK: 0.05, Stage.PORTS: 0.15, Stage.PISTON: 0.05})
DRAWS = 1024
# What is worth expecting after a step of each stage: names on the card, those that the engine has.
_EXPECTED: Mapping[Stage, tuple[str, ...]] = MappingProxyType(
    {
        Stage.DECK: (
            "deck_clearance_mm", "squish_gap_mm", "squish_gap_min_mm", "clearance_volume_cc",
            "compression_ratio_trapped",
        ),
        Stage.PORTS: (
            "exhaust_duration_deg", "transfer_duration_deg", "blowdown_deg", "intake_duration_deg", "least_land_mm",
            "compression_ratio_trapped",
        ),
        Stage.PISTON: ("intake_opens_deg_atdc", "intake_closes_deg_atdc", "intake_duration_deg"),
        Stage.BREATHING: ("pipe_length_mm", "stinger_share_of_header"),
        Stage.RUNNING: ("road_speed_km_h", "power_to_hold_kw"),
    }
)  # fmt: skip


@dataclass(frozen=True)
class Line:
    """One edge of one port to be cut, seen from the deck, mm, and on the wheel, degrees after top dead centre.

    now : where the edge is, None where there is no port yet; stop : where to stop and measure; target : where it
        shall end; all from the deck as it is when the line is scribed
    target_from_old_deck_mm : the target from the deck as it was before anything was done
    opens_deg, closes_deg : where the piston's edge meets the target; None where it never does
    stop_opens_deg : where it meets the stop line; wheel_zero_deg : what the builder's wheel reads at true top dead
        centre, to be added to each
    plus_minus_mm, plus_minus_deg : what to expect of the finished edge: measuring it and cutting it together
    """

    port: str
    openings: int
    edge: Edge
    now_mm: float | None
    stop_mm: float
    target_mm: float
    target_from_old_deck_mm: float
    plus_minus_mm: float
    opens_deg: float | None
    closes_deg: float | None
    stop_opens_deg: float | None
    plus_minus_deg: float | None
    wheel_zero_deg: float


@dataclass(frozen=True)
class Width:
    """The sides of one port to be cut: straight across with a caliper, and along the unrolled bore on a rubbing, mm."""

    port: str
    openings: int
    now_chord_mm: float | None
    stop_chord_mm: float
    target_chord_mm: float
    target_arc_mm: float
    plus_minus_mm: float


@dataclass(frozen=True)
class Expected:
    """One number to find when measuring before going on, and what to do if it is not found."""

    name: str
    label: str
    unit: str
    before: float | None
    value: float
    plus_minus: float
    if_different: str


@dataclass(frozen=True)
class CutStep:
    """One step of the list. `amount_stop` is where a plain amount (off a face, a skirt) is to stop first."""

    number: int
    step: Step
    title: str
    stage: Stage
    operation: Operation
    amount_stop: float | None
    lines: tuple[Line, ...]
    widths: tuple[Width, ...]
    instructions: tuple[Instruction, ...]
    expected: tuple[Expected, ...]
    also: tuple[Moved, ...]
    measure_first: str = ""


@dataclass(frozen=True)
class CutList:
    """A plan as it is carried to the bench."""

    engine: str
    invented: bool
    plan: str
    steps: tuple[CutStep, ...]
    reordered: tuple[Reordered, ...]
    said: tuple[str, ...]
    deck_lowered_mm: float


def cut_list(done: WhatIf, draws: int = DRAWS) -> CutList:
    """The staged list of a plan that was worked out. `draws` : for the +/- of what is expected; 0 for none.

    Raises PlanError where port lines cannot be given from the deck, because nobody measured where the deck stands.
    """
    outs = [work_out(record, draws=draws) for record in done.records]
    return CutList(
        engine=done.before.record.name,
        invented=done.before.record.invented,
        plan=done.plan.name,
        steps=tuple(_step(done, number, outs) for number in range(1, len(done.steps) + 1)),
        reordered=done.reordered,
        said=tuple(statement.text for statement in done.statements),
        deck_lowered_mm=deck_lowered_mm(done.steps),
    )


def deck_lowered_mm(steps: tuple[Step, ...]) -> float:
    """What steps took off the barrel's top: by so much every height from the deck got shorter."""
    return sum(step.amount or 0.0 for step in steps if step.do == "deck barrel top")


def _step(done: WhatIf, number: int, outs: list[WorkedOut]) -> CutStep:
    step, was, now = done.steps[number - 1], outs[number - 1], outs[number]
    operation = BY_KEY[step.do]
    stage, amount = operation.stage, operation.amount
    ports = stage is Stage.PORTS
    metal = amount is not None and amount.metal and step.amount
    earlier = [BY_KEY[one.do].stage for one in done.steps[: number - 1]]
    measure_first = ports and Stage.DECK in earlier and Stage.PORTS not in earlier
    return CutStep(
        number=number,
        step=with_usual(operation, step),
        title=shown(step),
        stage=stage,
        operation=operation,
        amount_stop=stop_short(step.amount, stage) if metal else None,
        lines=tuple(_lines(was, now, deck_lowered_mm(done.steps[: number - 1]))) if ports else (),
        widths=tuple(_widths(was.record, now.record)) if ports else (),
        instructions=operation.instructions,
        expected=tuple(_expected(done, number, was, now)),
        also=tuple(one for one in what_moved(was, now) if not one.inner),
        measure_first=MEASURE_AGAIN if measure_first else "",
    )


MEASURE_AGAIN = (
    "Squish and deck are done. Before a line is scribed: measure deck clearance, squish and every port edge again, "
    "from the deck as it is now, write them into a new record, and have the rest of the plan worked out from it."
)


def margin_mm(stage: Stage) -> float:
    """How far short of the target the stop line lies: instrument and hand together, rounded up to 0.05 mm."""
    both = INSTRUMENT_MM.get(stage, 0.0) + HAND_MM.get(stage, 0.0)
    return ceil(both / 0.05 - 1e-9) * 0.05


def stop_short(amount: float | None, stage: Stage) -> float | None:
    """Where to stop and measure: short by the margin, or half way where the whole cut is not much more than that."""
    return None if amount is None else max(amount - margin_mm(stage), amount / 2.0)


def _lines(was: WorkedOut, now: WorkedOut, deck_lowered: float) -> Iterator[Line]:
    """Every roof and floor that this step moves or makes."""
    before, after = edge_depths_mm(was.record), edge_depths_mm(now.record)
    clearance = now.values.get("deck_clearance_mm")
    if clearance is None or clearance.value is None:
        remedy = "measure deck_clearance_at_tdc_mm: every line is scribed from the deck"
        raise PlanError([Problem("cut list", None, "no deck clearance", "a record with the deck clearance", remedy)])
    ports = {port.name: port for port in now.record.ports}
    for (name, edge), depth in after.items():
        old = before.get((name, edge))
        if old is not None and abs(old - depth) < 1e-9:
            continue
        sign = 1.0 if edge == "roof" else -1.0  # towards what is not cut yet
        whole = abs(old - depth) if old is not None else (after[name, "floor"] - after[name, "roof"]) / 2.0
        short = whole - (stop_short(whole, Stage.PORTS) or 0.0)
        worked = now.values[f"ports.{name}.{edge}_depth_mm"]
        spread = hypot(worked.plus_minus or 0.0, HAND_MM[Stage.PORTS])
        opens, closes = _met_deg(now, ports[name], depth)
        stop_opens, _ = _met_deg(now, ports[name], depth + sign * short)
        around = [_met_deg(now, ports[name], depth + by)[0] for by in (-spread, spread)]
        yield Line(
            port=name,
            openings=ports[name].openings,
            edge=edge,
            now_mm=None if old is None else old + clearance.value,
            stop_mm=depth + sign * short + clearance.value,
            target_mm=depth + clearance.value,
            target_from_old_deck_mm=depth + clearance.value + deck_lowered,
            plus_minus_mm=spread,
            opens_deg=opens,
            closes_deg=closes,
            stop_opens_deg=stop_opens,
            plus_minus_deg=_half_apart(around) if opens is not None else None,
            wheel_zero_deg=wheel_error_deg(now.record),
        )


def _half_apart(angles: list[float | None]) -> float | None:
    first, second = angles
    if first is None or second is None:
        return None
    return abs((second - first + 180.0) % 360.0 - 180.0) / 2.0


def _met_deg(out: WorkedOut, port: Port, depth_mm: float) -> tuple[float | None, float | None]:
    """Degrees after top dead centre where the piston's edge meets a depth, opening and closing; None where never."""
    record = out.record
    offset = record.crank.pin_offset_mm.value if record.crank.pin_offset_mm else 0.0
    crank = (record.crank.stroke_mm.value, record.crank.rod_length_mm.value, offset)
    down, up = kinematics.angle_down_deg, kinematics.angle_up_deg
    if port.role == "intake":
        skirt = out.values.get(f"ports.{port.name}.skirt_edge_mm")
        if skirt is None or skirt.value is None:
            return None, None
        depth_mm -= skirt.value
        down, up = up, down
    elif record.piston.crown_chamfer_mm is not None:
        depth_mm -= record.piston.crown_chamfer_mm.value
    opens, closes = float(down(depth_mm, *crank)), float(up(depth_mm, *crank))
    return (None, None) if isnan(opens) or isnan(closes) else (opens, closes)


def _widths(was: EngineRecord, now: EngineRecord) -> Iterator[Width]:
    """Every port that this step makes wider, and every new one."""
    before = {port.name: chord_mm(was, port) for port in was.ports if port.role != "blind"}
    for port in now.ports:
        if port.role == "blind":
            continue
        target, old = chord_mm(now, port), before.get(port.name)
        if old is not None and abs(target - old) < 1e-9:
            continue
        more = target - (old or 0.0)
        yield Width(
            port=port.name,
            openings=port.openings,
            now_chord_mm=old,
            stop_chord_mm=target - more + (stop_short(more, Stage.PORTS) or 0.0),
            target_chord_mm=target,
            target_arc_mm=float(arc_from_chord_mm(target, now.cylinder.bore_mm.value)),
            plus_minus_mm=hypot(INSTRUMENT_MM[Stage.PORTS], HAND_MM[Stage.PORTS]),
        )


def _expected(done: WhatIf, number: int, was: WorkedOut, now: WorkedOut) -> Iterator[Expected]:
    """Numbers of the card to find after a step: their own +/-, and what the hand adds, together."""
    step = done.steps[number - 1]
    operation = BY_KEY[step.do]
    missed = _missed(done, number, operation)
    for name in _EXPECTED[operation.stage]:
        worked, old = now.values.get(name), was.values.get(name)
        if worked is None or worked.value is None:
            continue
        other = missed.values.get(name) if missed else None
        by_hand = abs(other.value - worked.value) if other and other.value is not None else 0.0
        before = old.value if old else None
        if before == worked.value and by_hand == 0.0:
            continue  # this step does not touch it
        spread = hypot(worked.plus_minus or 0.0, by_hand)
        yield Expected(name, worked.label, worked.unit, before, worked.value, spread, _if_different(operation, number))
    far = {one.place: one.measured.value for one in readings(missed.record)} if missed else {}
    earlier = {one.place: one.measured.value for one in readings(was.record)}
    for one in readings(now.record):
        found, before = one.measured.value, earlier.get(one.place)
        if found == before or not _told(one, operation.stage):
            continue
        spread = hypot(one.plus_minus, far.get(one.place, found) - found)
        label = _in_words(one, was.record, now.record)
        yield Expected(one.place, label, one.spec.unit, before, found, spread, _if_different(operation, number))


def _told(one: Reading, stage: Stage) -> bool:
    """Whether a reading is worth finding again: not where a line, a width or a number of the card says it already."""
    if one.place.startswith("ports."):
        field = one.place.rpartition(".")[2]
        return (
            stage is Stage.PORTS
            and not field.startswith(("roof_from", "floor_from", "width_"))
            and (not field.endswith("_deg_atdc"))
        )
    return not one.place.startswith(("squish.", "cylinder.deck_clearance", "crankcase."))


def _in_words(one: Reading, *records: EngineRecord) -> str:
    """A reading's place as a builder would say it: "ports.exhaust.floor_corner_radius_mm" is "exhaust: floor corner
    radius", "gaskets.head.1.nominal_mm" is "head gasket 1: nominal"."""
    where, _, field = one.place.rpartition(".")
    unit = one.spec.unit
    words = field.removesuffix(f"_{unit}").replace("_", " ")
    parts = where.split(".")
    if parts[0] == "gaskets":
        return f"{parts[1]} gasket {parts[2]}, {words}"
    if parts[0] in ("ports", "exhaust", "intake", "piston") and len(parts) > 1:
        parts = parts[-1:]
    return f"{' '.join(parts)}: {words}"


def _missed(done: WhatIf, number: int, operation: Operation) -> WorkedOut | None:
    """The engine where the hand missed by what it may: a little more came off."""
    step, hand = done.steps[number - 1], HAND_MM.get(operation.stage)
    if operation.amount is None or not operation.amount.metal or operation.amount.unit != "mm" or hand is None:
        return None
    try:
        more = replace(step, amount=(step.amount or 0.0) + hand)
        return work_out(carry_out_one(done.records[number - 1], more, done.plan.box, number), draws=0)
    except ScribelineError:  # at the end of what is possible a little more is not: then only the +/- is left
        return None


def _if_different(operation: Operation, number: int) -> str:
    back = f" What came off too much does not come back: {operation.instead}." if operation.instead else ""
    return (
        "Outside this: measure once more, and look at what the number rests on. If it stays, write what you found into "
        f"a new record and have the steps after {number} worked out again from it.{back}"
    )
