"""What an engine cannot be held against is said, and no more."""

from scribeline.geometry.work_out import work_out
from scribeline.plan.limit_table import LimitTable, OneLimit
from scribeline.plan.limits import limits
from scribeline.plan.not_held import _NEEDS, not_held, not_held_words
from tests.plan.engines import KART, edited

STUDS = "circle_diameter_mm = 70\nhole_diameter_mm = 8\nclock_deg = [45, 135, 225, 315]\n"


def test_what_nobody_measured_is_said_with_what_to_measure() -> None:
    words = not_held_words(work_out(edited(), draws=0))
    assert "passages against the foot's studs (cylinder.base_studs)" in words
    assert "port roofs against the top ring (piston.top_ring_from_crown_mm)" in words
    assert "the highest crank speed allowed (drivetrain.redline_rpm)" in words
    assert "openings in the skirt" not in words  # there are none


def test_what_is_measured_is_no_longer_said() -> None:
    record = edited(
        ("mass_g = 148", "top_ring_from_crown_mm = 3\nmass_g = 148"),
        ("clutch_engages_rpm", "redline_rpm = 11000\nclutch_engages_rpm"),
        ("[gaskets]", f"[cylinder.base_studs]\n{STUDS}\n[gaskets]"), ("[squish]", f"[head.studs]\n{STUDS}\n[squish]"),
        name=KART,
    )  # fmt: skip
    assert not_held(work_out(record, draws=0)) == ()
    assert not_held_words(work_out(record, draws=0)) == ""


def test_what_is_switched_off_is_said_elsewhere() -> None:
    table = LimitTable(set=(OneLimit(name="ring_ends", off=True), OneLimit(name="head_stud_clearance_mm", off=True)))
    record = edited(("ring_pegs_deg = [160, 200]\n", ""))
    assert "ring ends over ports (cylinder.ring_pegs_deg)" in not_held(work_out(record, draws=0))
    left = not_held(work_out(record, draws=0), table)
    assert not [one for one in left if "ring_pegs" in one or "head.studs" in one]


def test_every_name_is_a_limit() -> None:
    assert set(_NEEDS) <= {limit.name for limit in limits()}
