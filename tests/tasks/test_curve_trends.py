"""Which way the band moves when a record is changed: from the drawn port to the curve, through the whole path.

Judged on the centre of the band above 90 % of the best power, as the peak's own speed sits on a cliff. The directions:
reference file 11_cycle_end_to_end, e2e-trends (common practice; tuning law).
"""

from functools import cache

import numpy as np

from scribeline.cycle.from_record import build_of
from scribeline.cycle.simulate import Settings
from scribeline.engine import EngineRecord
from scribeline.geometry.work_out import work_out
from scribeline.tasks.curve import Curve, power_curve
from tests.examples import edited

SPEEDS = [float(v) for v in range(7500, 12001, 500)]
ROUGH = Settings(cell_m=0.02, tolerance=0.01)
ROOF = "roof_from_deck_mm = { value = 29.1"


def with_pipe(factor: float) -> EngineRecord:
    """The kart with every length of its pipe times a factor."""
    record = edited()
    assert record.exhaust is not None
    sections = tuple(
        s.model_copy(update={"length_mm": s.length_mm.model_copy(update={"value": factor * s.length_mm.value})})
        for s in record.exhaust.sections
    )
    return record.model_copy(update={"exhaust": record.exhaust.model_copy(update={"sections": sections})})


def with_roof(mm: float) -> EngineRecord:
    """The kart with its exhaust roof so far from the deck."""
    return edited((ROOF, ROOF.replace("29.1", f"{mm}")))


@cache
def curve(what: str) -> Curve:
    records = {"kart": edited, "short": lambda: with_pipe(0.9), "raised": lambda: with_roof(27.6)}
    return power_curve(records[what](), SPEEDS, ROUGH)


def band_centre(curve: Curve) -> float:
    """Centre of the band above 90 % of the best power [rev/min]."""
    sound = [p for p in curve.points if p.result]
    fine = np.linspace(SPEEDS[0], SPEEDS[-1], 4001)
    power = np.interp(fine, [p.speed_rpm for p in sound], [p.got.power_w for p in sound])
    band = fine[power > 0.9 * power.max()]
    return float(0.5 * (band[0] + band[-1]))


def test_a_shorter_pipe_moves_the_band_up():
    """By half of what the tuning law says: ports and intake, which the law does not know, stay where they were."""
    moved = band_centre(curve("short")) / band_centre(curve("kart")) - 1.0
    assert 0.02 < moved < 1.35 * (1 / 0.9 - 1.0)


def test_a_raised_exhaust_roof_moves_the_band_up_and_traps_a_smaller_volume():
    assert band_centre(curve("raised")) > band_centre(curve("kart"))
    raised, plain = (build_of(work_out(one, draws=0)).engine for one in (with_roof(27.6), edited()))
    at_closing = [e.cylinder.volume_m3(-e.exhaust_opens_rad) for e in (raised, plain)]
    assert at_closing[0] < at_closing[1]


def test_a_raised_exhaust_roof_lowers_the_pressure_at_which_the_transfers_open():
    """For the charge that is in the cylinder: pressure over trapped mass."""
    for raised, plain in zip(curve("raised").points, curve("kart").points, strict=True):
        ratios = []
        for point in (raised, plain):
            rec = point.recording
            assert rec is not None
            ratios.append(rec.at(rec.cylinder_pa, rec.transfer_opens_rad) / point.got.trapped_kg)
        assert ratios[0] < ratios[1], raised.speed_rpm
