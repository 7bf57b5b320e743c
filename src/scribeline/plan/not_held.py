"""Limits that an engine cannot be held against, because nobody measured what they rest on: silence would look like a
pass."""

from collections.abc import Callable

from scribeline.engine import EXHAUST_ROLES, TRANSFER_ROLES, EngineRecord
from scribeline.geometry.work_out import WorkedOut
from scribeline.plan.limit_table import LimitTable
from scribeline.plan.limits import RING_ENDS, limits


def _has(*roles: str) -> Callable[[EngineRecord], bool]:
    return lambda record: any(port.role in roles for port in record.ports)


def _always(record: EngineRecord) -> bool:
    return True


_OUTWARDS = _has(*EXHAUST_ROLES, "intake")
_NEEDS: dict[str, tuple[str, str, Callable[[EngineRecord], bool]]] = {
    "squish_gap_min_mm": ("the tightest squish gap", "solder at four places in [squish]", _always),
    "squish_gap_mm": ("the squish gap", "[squish], or band recess and head gasket", _always),
    "squish_velocity_max_m_s": ("squish velocity", "head.squish_inner_mm and the squish gap", _always),
    "compression_ratio_trapped": ("trapped compression", "the head's volume and the exhaust's roof", _always),
    "least_land_mm": ("walls between ports", "clock, width, roof and floor of every port", _always),
    "foot_stud_clearance_mm": ("passages against the foot's studs", "cylinder.base_studs", _OUTWARDS),
    "head_stud_clearance_mm": ("passages against the head's studs", "head.studs", _OUTWARDS),
    "highest_roof_below_ring_mm": (
        "port roofs against the top ring", "piston.top_ring_from_crown_mm", _has(*EXHAUST_ROLES, *TRANSFER_ROLES),
    ),
    "speed_under_redline_rpm": ("the highest crank speed allowed", "drivetrain.redline_rpm", _always),
    "speed_over_clutch_rpm": ("the clutch", "drivetrain.clutch_engages_rpm", _always),
    "blowdown_deg": (
        "blowdown", "roofs of exhaust and transfers", lambda record: _has(*EXHAUST_ROLES)(record)
        and _has(*TRANSFER_ROLES)(record),
    ),
    "exhaust_open_under_skirt_mm": (
        "the exhaust under the skirt", "piston.skirt_exhaust_side_mm and the exhaust's floor", _has(*EXHAUST_ROLES),
    ),
    "window_clear_of_exhaust_mm": (
        "openings in the skirt against the exhaust", "clock, width, roof and floor of the exhaust",
        lambda record: bool(record.piston.openings),
    ),
    "intake_open_above_crown_mm": ("the intake above the crown", "the intake's roof", _has("intake")),
    "exhaust_width_share_of_bore": ("the exhaust's width", "its width", _has(*EXHAUST_ROLES)),
    "stinger_share_of_header": ("the stinger", "[[exhaust.sections]]", _always),
}  # fmt: skip


def limit_words(name: str) -> str:
    """What a limit is about, where this engine has no number with a label for it.

    >>> limit_words("foot_stud_clearance_mm"), limit_words("another_limit")
    ("passages against the foot's studs", 'another limit')
    """
    return _NEEDS[name][0] if name in _NEEDS else name.replace("_", " ")


def not_held(out: WorkedOut, table: LimitTable | None = None) -> tuple[str, ...]:
    """What this engine is not held against, each with what would have to be measured; () where everything is held.

    table : what the builder set; a limit that is off is said by `limits.statements` and not again here
    """
    off = {one.name for one in table.set if one.off} if table is not None else set()
    found = []
    for limit in limits(out.record, table):
        worked = out.values.get(limit.name)
        if limit.name in _NEEDS and (worked is None or worked.value is None):
            what, needs, applies = _NEEDS[limit.name]
            if applies(out.record):
                found.append(f"{what} ({needs})")
    if not out.record.cylinder.ring_pegs_deg and RING_ENDS not in off:
        found.append("ring ends over ports (cylinder.ring_pegs_deg)")
    return tuple(found)


def not_held_words(out: WorkedOut, table: LimitTable | None = None) -> str:
    """The same as one sentence; nothing where everything is held."""
    found = not_held(out, table)
    return f"Not held, because nobody measured what it rests on: {'; '.join(found)}." if found else ""
