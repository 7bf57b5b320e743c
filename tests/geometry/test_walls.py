"""Walls that are left standing, against distances that shapely finds between the ports' frames on the unrolled bore."""

from itertools import combinations
from math import asin, pi, radians

import pytest
from shapely import box
from shapely.affinity import translate

from scribeline.engine import EngineRecord
from scribeline.geometry.work_out import work_out
from tests.examples import KART, REED, edited


def frames(record: EngineRecord) -> list[object]:
    """Each opening as a box on the unrolled bore: across from clock 0, down from the crown at top dead centre."""
    out = work_out(record, draws=0)
    bore = record.cylinder.bore_mm.value
    found = []
    for port in record.ports:
        roof, floor, arc = (out.value(f"ports.{port.name}.{n}_mm") for n in ("roof_depth", "floor_depth", "arc"))
        assert roof is not None
        assert floor is not None
        assert arc is not None
        for clock in port.clocks_deg:
            x = radians(clock) * bore / 2.0
            found.append(box(x - arc / 2.0, roof, x + arc / 2.0, floor))
    return found


@pytest.mark.parametrize("name", [KART, REED])
def test_the_narrowest_wall_is_the_least_distance_between_two_frames(name: str) -> None:
    record = edited(name=name)
    around = pi * record.cylinder.bore_mm.value
    least = min(
        a.distance(translate(b, turn * around, 0.0))  # type: ignore[attr-defined]
        for a, b in combinations(frames(record), 2)
        for turn in (-1, 0, 1)
    )
    assert work_out(record, draws=0).value("least_land_mm") == pytest.approx(least, abs=1e-9)


def test_ports_that_run_into_each_other_leave_less_than_nothing() -> None:
    """A main transfer at 90° and a rear one at 110°: 8.73 mm apart along a bore of 50, and together 14.5 mm wide."""
    record = edited(("clock_deg = 75", "clock_deg = 90"), ("clock_deg = 125", "clock_deg = 110"))
    wide = 25.0 * (asin(0.35) + asin(0.22))
    found = work_out(record, draws=0).value("least_land_mm")
    assert found == pytest.approx(25.0 * radians(20.0) - wide)


def test_one_port_has_no_wall_to_another() -> None:
    record = edited()
    alone = record.model_copy(update={"ports": record.ports[:1]})
    assert "least_land_mm" not in work_out(alone, draws=0).values


def test_a_stud_beside_a_passage() -> None:
    """Studs at 45° on a circle of 74 mm: 26.16 mm beside the middle line; the exhaust is 32 wide, the hole 8.2."""
    record = edited(
        (
            "count = 1",
            "count = 1\n"
            "base_studs = { circle_diameter_mm = 74, hole_diameter_mm = 8.2, clock_deg = [45, 135, 225, 315] }",
        )
    )
    assert work_out(record, draws=0).value("foot_stud_clearance_mm") == pytest.approx(37 * 0.5**0.5 - 16.0 - 4.1)


WINDOW = """[[piston.openings]]
name = "window"
clock_deg = {clock}
width_mm = 16
top_from_crown_mm = {top}
bottom_from_crown_mm = {bottom}

[head]
"""


@pytest.mark.parametrize(
    ("clock", "top", "bottom"), [(0, 30, 45), (50, 52, 56), (0, 52, 56), (120, 30, 45), (52, 10, 20)]
)
def test_an_opening_in_the_skirt_stays_clear_of_the_exhaust_over_the_whole_turn(
    clock: float, top: float, bottom: float
) -> None:
    """Against shapely: what the window sweeps on the unrolled bore, and the exhaust's frame."""
    record = edited(("[head]\n", WINDOW.format(clock=clock, top=top, bottom=bottom)))
    out = work_out(record, draws=0)
    stroke, bore = out.value("true_stroke_mm"), record.cylinder.bore_mm.value
    assert stroke is not None
    x, half = radians(clock) * bore / 2.0, bore / 2.0 * asin(16.0 / bore)
    swept, exhaust = box(x - half, top, x + half, bottom + stroke), frames(record)[0]
    found = out.value("window_clear_of_exhaust_mm")
    assert found is not None
    if swept.intersects(exhaust):  # type: ignore[arg-type]
        assert found < 0.0
    else:
        assert found == pytest.approx(swept.distance(exhaust))  # type: ignore[arg-type]


def test_a_cut_out_beside_the_middle_of_the_exhaust_still_opens_it() -> None:
    record = edited(("[head]\n", WINDOW.format(clock=40, top=45, bottom=0).replace("bottom_from_crown_mm = 0\n", "")))
    found = work_out(record, draws=0).value("window_clear_of_exhaust_mm")
    assert found is not None
    assert found < 0.0


def test_without_an_opening_there_is_no_such_wall() -> None:
    assert "window_clear_of_exhaust_mm" not in work_out(edited(), draws=0).values
