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
