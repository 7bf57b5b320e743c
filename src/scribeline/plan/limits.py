"""Where common practice says stop: limits a card or a plan is held against, each with its source.

A limit that is passed is a warning, not a refusal: the builder decides. A warning says "is" where the number lies
outside by more than its +/-, and "may be" where it is nearer to the limit than that, on either side. The builder may
set any of them tighter; looser or off as well, and then every card, cut list and sheet says so (`statements`).
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import hypot

from scribeline.data.handbook import handbook
from scribeline.engine import EngineRecord, Port
from scribeline.errors import PlanError, Problem
from scribeline.geometry.work_out import WorkedOut
from scribeline.plan.limit_table import LimitTable
from scribeline.units import show


@dataclass(frozen=True)
class Warning:
    """One limit that is passed, or may be.

    certain : True where the number lies outside by more than its +/-, or has none
    beyond : how far outside it lies, in the number's unit; minus where it lies inside by less than its +/-
    """

    about: str
    message: str
    source: str
    remedy: str
    certain: bool
    beyond: float = 0.0


@dataclass(frozen=True)
class Statement:
    """What the builder made of a limit that is looser than usual or off: said on every card, cut list and sheet."""

    name: str
    text: str


@dataclass(frozen=True)
class Limit:
    """A range for one number of the card. None means open on that side."""

    name: str
    low: float | None
    high: float | None
    source: str
    too_low: str = ""
    too_high: str = ""
    remedy: str = ""


MEAN_PISTON_SPEED_MAX_M_S = 20.0  # common practice, no source: above it only racing parts last
ACCELERATION_MAX_M_S2 = 50_000.0  # judgement: above it only rings of 0.8 mm or less keep their seat
SQUISH_VELOCITY_MAX_M_S = 40.0  # judgement; no published figure was found that rests on more than hearsay
LEAST_LAND_MM = 2.0  # common practice, no source: a thinner wall between two ports burns and breaks
STUD_WALL_MM = 1.5  # common practice, no source
BELOW_RING_MM = 0.0
# Trapped compression for petrol of 95 RON with the squish in range, and how much more each octane bears; judgement.
TRAPPED_AT_95_RON, TRAPPED_PER_OCTANE = 7.0, 0.15
USUAL_RON = 95.0


def trapped_compression_max(octane_ron: float) -> float:
    """Most compression from exhaust closing for a fuel; judgement, no source: the simulation's knock margin knows more.

    >>> trapped_compression_max(98.0)
    7.45
    """
    return TRAPPED_AT_95_RON + TRAPPED_PER_OCTANE * (octane_ron - USUAL_RON)


RING_ENDS = "ring_ends"
"""Name of the limit that no ring end passes over a port; held by `warnings`, ring by ring and port by port."""


def simulated_limits(table: LimitTable | None = None) -> list[Limit]:
    """What a simulated speed is held against, as the builder set it; the numbers are those of a power curve."""
    return _as_set(_SIMULATED, table or LimitTable(), others={limit.name for limit in _usual(None)} | {RING_ENDS})


_SIMULATED = [
    Limit(
        "knock_margin_octane",
        0.0,
        None,
        "douaud-eyzat-1978",
        too_low="the knock integral reaches one before the flame is through: this fuel may knock",
        remedy="a later spark, better fuel, a richer mixture or a bigger chamber",
    )
]


def limits(record: EngineRecord | None = None, table: LimitTable | None = None) -> list[Limit]:
    """Every plain range the card is held against, as the builder set it.

    record : for the limits that depend on the fuel; table : what the builder set. Raises PlanError for a name that is
    no limit.
    """
    others = {limit.name for limit in _SIMULATED} | {RING_ENDS}
    return _as_set(_usual(record), table or LimitTable(), others)


def statements(table: LimitTable) -> list[Statement]:
    """Every limit that the builder made looser, or switched off."""
    usual = {limit.name: limit for limit in (*_usual(None), *_SIMULATED)}
    found = []
    for one in table.set:
        why = f": {one.why}" if one.why else ""
        if one.off:
            found.append(Statement(one.name, f"The limit on {one.name} is switched off by the builder{why}."))
            continue
        limit = usual.get(one.name)
        sides = () if limit is None else ((one.low, limit.low, 1.0), (one.high, limit.high, -1.0))
        for bound, was, sign in sides:
            if bound is not None and was is not None and sign * (was - bound) > 0.0:
                text = f"The limit on {one.name} is made looser by the builder, {bound:g} for {was:g}{why}."
                found.append(Statement(one.name, text))
    return found


def _as_set(usual: list[Limit], table: LimitTable, others: set[str]) -> list[Limit]:
    """`others` : names that are limits, too, and held elsewhere."""
    by_name = {one.name: one for one in table.set}
    known = {limit.name for limit in usual} | others
    unknown = [
        Problem("limits", None, f'"{name}"', "one of: " + ", ".join(sorted(known)), "correct the name")
        for name in by_name
        if name not in known
    ]
    if unknown:
        raise PlanError(unknown, "limits")
    found = []
    for limit in usual:
        one = by_name.get(limit.name)
        if one is None:
            found.append(limit)
        elif not one.off:
            low, high = (one.low, one.high)
            found.append(
                replace(
                    limit,
                    low=limit.low if low is None else low,
                    high=limit.high if high is None else high,
                    too_low=limit.too_low or "your own limit",
                    too_high=limit.too_high or "your own limit",
                    remedy=limit.remedy or "your own limit: do less of what moves it",
                )
            )
    return found


def _usual(record: EngineRecord | None) -> list[Limit]:
    """The limits before the builder sets any."""
    guide = handbook()
    octane = record.fuel.octane_ron.value if record is not None and record.fuel.octane_ron else USUAL_RON
    squish, share = guide["squish_gap_mm"], guide["exhaust_chord_share_max"]
    return [
        Limit(
            "squish_gap_min_mm",
            squish.low,
            None,
            squish.source,
            too_low="the piston may hit the head as rod and bearings stretch at speed",
            remedy="a thicker base or head gasket, or re-cut the squish band",
        ),
        Limit(
            "squish_gap_mm",
            None,
            squish.high,
            squish.source,
            too_high="the band is too far away to stir the charge: more knock, less power",
            remedy="a thinner gasket, or take metal off the barrel's top or the head, before any port is cut",
        ),
        Limit(
            "mean_piston_speed_m_s",
            None,
            MEAN_PISTON_SPEED_MAX_M_S,
            "common-practice",
            too_high="only racing pistons, rods and rings last at this speed",
            remedy="aim at a lower crank speed, or use parts made for it",
        ),
        Limit(
            "piston_acceleration_max_m_s2",
            None,
            ACCELERATION_MAX_M_S2,
            "judgement",
            too_high="rings lift off their seat and flutter, rods and pins stretch",
            remedy="aim at a lower crank speed, or use thin rings and parts made for it",
        ),
        Limit(
            "squish_velocity_max_m_s",
            None,
            SQUISH_VELOCITY_MAX_M_S,
            "judgement",
            too_high="a jet this fast loses heat and burns harshly",
            remedy="a narrower band, or more gap within its own limits",
        ),
        Limit(
            "compression_ratio_trapped",
            None,
            trapped_compression_max(octane),
            "judgement",
            too_high=f"petrol of {octane:g} RON may knock at full throttle",
            remedy="a bigger chamber or a thicker head gasket with the squish kept, a later spark, or better fuel",
        ),
        Limit(
            "least_land_mm",
            LEAST_LAND_MM,
            None,
            "common-practice",
            too_low="a wall this thin burns, breaks and lets the ring in",
            remedy="cut less width, or not this port",
        ),
        *(
            Limit(
                f"{where}_stud_clearance_mm",
                STUD_WALL_MM,
                None,
                "common-practice",
                too_low="the passage breaks into the stud's hole",
                remedy="cut less width on that side",
            )
            for where in ("foot", "head")
        ),
        Limit(
            "highest_roof_below_ring_mm",
            BELOW_RING_MM,
            None,
            "geometry",
            too_low="the port opens above the top ring at top dead centre: it never seals",
            remedy="do not raise this roof",
        ),
        Limit(
            "speed_over_clutch_rpm",
            0.0,
            None,
            "definition",
            too_low="at this crank speed the clutch does not pull yet",
            remedy="gear it so that the engine turns faster, or set the clutch to a lower speed",
        ),
        Limit(
            "speed_under_redline_rpm",
            0.0,
            None,
            "definition",
            too_low="this crank speed is above the one that the engine may be turned to",
            remedy="gear it longer, aim at a lower crank speed, or have parts fitted that are made for it",
        ),
        Limit(
            "blowdown_deg",
            0.0,
            None,
            "geometry",
            too_low="the transfers open before the exhaust: burned gas blows into the crankcase",
            remedy="measure both roofs again; raise the exhaust or lower the barrel",
        ),
        Limit(
            "exhaust_open_under_skirt_mm",
            None,
            0.0,
            "geometry",
            too_high="at top dead centre the skirt leaves the exhaust port open to the crankcase",
            remedy="do not shorten this skirt; a longer one or a higher exhaust floor shuts it",
        ),
        Limit(
            "window_clear_of_exhaust_mm",
            0.0,
            None,
            "geometry",
            too_low="an opening in the skirt passes over the exhaust port and joins it to the crankcase",
            remedy="another place for the opening, or a smaller one; another piston where it is cut already",
        ),
        Limit(
            "intake_open_above_crown_mm",
            None,
            0.0,
            "geometry",
            too_high="at bottom dead centre the crown leaves the intake port open to the cylinder",
            remedy="do not raise this intake's roof; check both heights",
        ),
        Limit(
            "exhaust_width_share_of_bore",
            None,
            share.high,
            share.source,
            too_high="rings bulge into a single port this wide, snag and break",
            remedy="leave a bridge, or keep the port narrower",
        ),
        Limit(
            "stinger_share_of_header",
            guide["stinger_diameter_ratio"].low,
            None,
            guide["stinger_diameter_ratio"].source,
            too_low="a stinger this small holds heat in the engine and can hole the piston",
            remedy="fit a larger stinger before any full-throttle run",
        ),
    ]


def warnings(out: WorkedOut, table: LimitTable | None = None) -> list[Warning]:
    """Every limit that this engine passes or may pass, in the order of `limits`, then what else stands out.

    table : what the builder set; raises PlanError where it names no limit
    """
    found: list[Warning] = []
    for limit in limits(out.record, table):
        if out.values.get(limit.name) and out.values[limit.name].value is not None:
            found.extend(_held_against(out, limit))
    ring_ends_off = table is not None and any(one.name == RING_ENDS and one.off for one in table.set)
    for look in (_disagreements, _ring_pegs, _on_the_edge):
        if look is not _ring_pegs or not ring_ends_off:
            found.extend(look(out))
    return found


def _held_against(out: WorkedOut, limit: Limit) -> Iterator[Warning]:
    worked = out.values[limit.name]
    assert worked.value is not None
    width = worked.plus_minus or 0.0
    for bound, sign, why in ((limit.low, -1.0, limit.too_low), (limit.high, 1.0, limit.too_high)):
        if bound is None:
            continue
        beyond = sign * (worked.value - bound)
        if beyond + width <= 0:
            continue
        side = "below" if sign < 0 else "above"
        certain = beyond > width
        number = _number(worked.value, worked.unit, worked.plus_minus, bound)
        passed = f"{worked.label} {'is' if certain else 'may be'} {side} {show(bound, worked.unit)}: {number}"
        yield Warning(limit.name, f"{_sentence(passed)} {_sentence(why)}", limit.source, limit.remedy, certain, beyond)


def _number(value: float, unit: str, plus_minus: float | None, bound: float | None = None) -> str:
    """A number with the digits its +/- supports; without one to three digits, or all where it then equals the bound."""
    short = float(f"{value:.3g}")
    return show(value if plus_minus or short == bound else short, unit, plus_minus)


def _sentence(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}."


def _disagreements(out: WorkedOut) -> Iterator[Warning]:
    for a in out.agreements:
        if a.agree is False:
            assert a.plus_minus is not None
            yield Warning(
                a.first,
                _sentence(f"{a.label}: measured twice, and the two do not agree")
                + " "
                + _sentence(
                    f"{out.values[a.first].label} is {show(abs(a.difference), a.unit)} "
                    f"{'more' if a.difference > 0 else 'less'} than {out.values[a.second].label}; "
                    f"their +/- explains {show(a.plus_minus, a.unit)}"
                ),
                "jcgm-101",
                "measure both again before you rely on either",
                certain=True,
            )


def _ring_pegs(out: WorkedOut) -> Iterator[Warning]:
    """Ring ends that pass over a port can spring into it."""
    for number in range(1, len(out.record.cylinder.ring_pegs_deg) + 1):
        for port in out.record.ports:
            if f"ports.{port.name}.half_angle_deg" in out.values:
                yield from _ring_end(out, number, port)


def _ring_end(out: WorkedOut, number: int, port: Port) -> Iterator[Warning]:
    """A warning for each opening of the port that a ring end passes over.

    A ring sweeps the bore as far down as the crown comes, and further by as much as it sits below the crown's edge.
    Where nobody measured how low the lowest ring sits, the warning for a port lower than the crown ever comes says from
    where on a ring reaches it, and none is needed where the ring would have to sit lower than the gudgeon pin.
    """
    half = out.values[f"ports.{port.name}.half_angle_deg"]
    roof, stroke = out.values[f"ports.{port.name}.roof_depth_mm"], out.values["true_stroke_mm"]
    assert half.value is not None
    assert roof.value is not None
    assert stroke.value is not None
    below_crown_mm = roof.value - stroke.value
    lowest_ring = out.record.piston.lowest_ring_from_crown_mm
    if lowest_ring is not None and below_crown_mm >= lowest_ring.value:
        return
    pin = out.record.piston.compression_height_mm
    if pin is not None and below_crown_mm >= pin.value:
        return
    peg, clock = out.readings[f"cylinder.ring_pegs_deg.{number}"], out.readings[f"ports.{port.name}.clock_deg"]
    width = hypot(half.plus_minus or 0.0, peg.plus_minus, clock.plus_minus)
    where = ""
    if below_crown_mm >= 0.0 and lowest_ring is None:
        lowest = _number(below_crown_mm, "mm", roof.plus_minus)
        where = f", if its ring sits more than {lowest} below the crown's edge,"
    for centre in port.clocks_deg:
        beside = abs((peg.measured.value - centre + 180.0) % 360.0 - 180.0) - half.value
        if beside <= width:
            certain = beside < -width and not where
            passes = "passes" if certain else "may pass"
            yield Warning(
                half.name,
                f"Ring end {number} at {peg.measured.value:g}° {passes} over the {port.name} port{where} "
                "and can spring into it.",
                "common-practice",
                "use another piston or ring position; keep ring ends over solid wall",
                certain,
            )


def _on_the_edge(out: WorkedOut) -> Iterator[Warning]:
    """A number that some draws within the +/- do not have shows readings at the edge of the possible."""
    for name, worked in out.values.items():
        if worked.lost > 0 and not worked.inner:
            yield Warning(
                name,
                _sentence(
                    f"{worked.label} exists for the readings as they are, but not for {100 * worked.lost:.1f} % of "
                    "the engines within their +/-"
                ),
                "jcgm-101",
                "measure its inputs more closely",
                certain=False,
            )
