"""Where common practice says stop: limits a card or a plan is held against, each with its source.

A limit that is passed is a warning, not a refusal: the builder decides. Whether it is *surely* passed or only may be,
within the +/- of the measurement, is said with it.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from scribeline.data.handbook import handbook
from scribeline.geometry.work_out import WorkedOut
from scribeline.units import show


@dataclass(frozen=True)
class Warning:
    """One limit that is passed, or may be.

    certain : True where the number lies outside by more than its +/-, or has none
    """

    about: str
    message: str
    source: str
    remedy: str
    certain: bool


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


def limits() -> list[Limit]:
    """Every plain range the card is held against."""
    guide = handbook()
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


def warnings(out: WorkedOut) -> list[Warning]:
    """Every limit that this engine passes or may pass, in the order of the card."""
    found: list[Warning] = []
    bridged = any(port.role == "exhaust" and port.bridge_mm is not None for port in out.record.ports)
    for limit in limits():
        if limit.name == "exhaust_width_share_of_bore" and bridged:
            continue
        if out.values.get(limit.name) and out.values[limit.name].value is not None:
            found.extend(_held_against(out, limit))
    for look in (_disagreements, _ring_pegs, _on_the_edge):
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
        is_ = "is" if beyond > 0 else "may be"
        number = show(worked.value, worked.unit, worked.plus_minus)
        message = f"{worked.label} {is_} {side} {show(bound, worked.unit)}: {number}. {why[0].upper()}{why[1:]}."
        yield Warning(limit.name, message, limit.source, limit.remedy, certain=beyond > width)


def _disagreements(out: WorkedOut) -> Iterator[Warning]:
    for a in out.agreements:
        if a.agree is False:
            assert a.plus_minus is not None
            yield Warning(
                a.first,
                f"{a.label}: measured twice, and the two do not agree. "
                f"{out.values[a.first].label} is {show(abs(a.difference), a.unit)} "
                f"{'more' if a.difference > 0 else 'less'} than {out.values[a.second].label}; "
                f"their +/- explains {show(a.plus_minus, a.unit)}.",
                "jcgm-101",
                "measure both again before you rely on either",
                certain=True,
            )


def _ring_pegs(out: WorkedOut) -> Iterator[Warning]:
    """Ring ends that pass over a port can spring into it."""
    for number, peg in enumerate(out.record.cylinder.ring_pegs_deg, start=1):
        for port in out.record.ports:
            half = out.values.get(f"ports.{port.name}.half_angle_deg")
            if half is None or half.value is None:
                continue
            for centre in port.clocks_deg:
                away = abs((peg.value - centre + 180.0) % 360.0 - 180.0) - half.value
                if away <= (half.plus_minus or 0.0):
                    yield Warning(
                        f"ports.{port.name}.half_angle_deg",
                        f"Ring end {number} at {peg.value:g}° passes over the {port.name} port and can spring into it.",
                        "common-practice",
                        "use another piston or ring position; keep ring ends over solid wall",
                        certain=away < 0,
                    )


def _on_the_edge(out: WorkedOut) -> Iterator[Warning]:
    """Draws in which a number does not exist show that a reading stands at the edge of the possible."""
    for name, worked in out.values.items():
        if worked.value is not None and worked.plus_minus is None and out.draws >= 2:
            yield Warning(
                name,
                f"{worked.label} exists for the readings as they are, but not within their +/-.",
                "jcgm-101",
                "measure its inputs more closely",
                certain=False,
            )
