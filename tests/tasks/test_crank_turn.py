"""The table that the browser turns the crank by, against the triangle of crank, rod and pin drawn anew here."""

import math

import pytest
from scipy.optimize import minimize_scalar

from scribeline.geometry.work_out import work_out
from scribeline.tasks.crank_turn import STEP_DEG, angles_deg, turn_of
from tests.examples import KART, REED, edited

BIG_OFFSET = ("pin_offset_mm = { value = 0.5,", "pin_offset_mm = { value = 2.5,")
ENGINES = {
    "kart": edited(name=KART),
    "reed": edited(name=REED),
    "desaxe": edited(BIG_OFFSET, ("deck_height_mm = { value = 156.66, plus_minus = 0.10, with = \"caliper\" }\n", "")),
}  # fmt: skip


def pin_height(turned: float, throw: float, rod: float, offset: float) -> float:
    """Height of the gudgeon pin: on its own upright line, one rod length from the crank pin."""
    return throw * math.cos(turned) + math.sqrt(rod**2 - (throw * math.sin(turned) - offset) ** 2)


@pytest.mark.parametrize("name", ENGINES)
def test_piston_and_rod_are_where_the_triangle_puts_them(name: str) -> None:
    record = ENGINES[name]
    throw, rod = 0.5 * record.crank.stroke_mm.value, record.crank.rod_length_mm.value
    offset = record.crank.pin_offset_mm.value if record.crank.pin_offset_mm else 0.0
    top = minimize_scalar(lambda a: -pin_height(a, throw, rod, offset), bounds=(-0.2, 0.2), options={"xatol": 1e-12}).x
    turn = turn_of(work_out(record, draws=0))
    for i in range(0, len(turn.depth_mm), 37):
        turned = top + math.radians(i * STEP_DEG)
        across, up = throw * math.sin(turned), throw * math.cos(turned)
        height = pin_height(turned, throw, rod, offset)
        assert turn.depth_mm[i] == pytest.approx(pin_height(top, throw, rod, offset) - height, abs=2e-4)
        # Clockwise lean of the line from the crank pin up to the gudgeon pin, exhaust side on the right.
        assert turn.tilt_deg[i] == pytest.approx(math.degrees(math.atan2(offset - across, height - up)), abs=2e-4)


def test_the_table_goes_round_once_and_the_deepest_is_bottom_dead_centre() -> None:
    turn = turn_of(work_out(ENGINES["desaxe"], draws=0))
    assert len(turn.depth_mm) == len(turn.tilt_deg) == angles_deg().size == 720
    deepest = STEP_DEG * max(range(720), key=lambda i: turn.depth_mm[i])
    assert deepest == pytest.approx(turn.bdc_deg, abs=STEP_DEG)
    assert turn.bdc_deg > 180.5
