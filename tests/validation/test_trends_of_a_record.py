"""Which way the band moves when a record is changed: from the drawn port to the curve, through the whole path.

How a place is judged stands in `band.py`. The directions: reference file 11_cycle_end_to_end, e2e-trends (common
practice; tuning law).
"""

from functools import cache

import pytest

from scribeline.cycle.from_record import build_of
from scribeline.cycle.simulate import CycleResult, Settings
from scribeline.engine import EngineRecord
from scribeline.geometry.work_out import work_out
from scribeline.tasks.curve import Curve, power_curve
from tests.examples import edited
from tests.validation.band import band_centre, best_trapping_rpm

SPEEDS = [float(v) for v in range(7500, 12001, 500)]
ROUGH = Settings(cell_m=0.02, tolerance=0.01, patient=False)
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


def results(what: str) -> list[CycleResult]:
    return [p.got for p in curve(what).points if p.result]


def test_a_shorter_pipe_moves_the_band_up():
    """Where it traps best, as the tuning law says; the band by half of that: ports and intake stay where they were."""
    law = 1 / 0.9 - 1.0
    moved, trapping = (of(results("short")) / of(results("kart")) - 1.0 for of in (band_centre, best_trapping_rpm))
    assert 0.02 < moved < 1.35 * law
    assert trapping == pytest.approx(law, rel=0.35)


def test_a_raised_exhaust_roof_moves_the_band_up_and_traps_a_smaller_volume():
    for of in (band_centre, best_trapping_rpm):
        assert of(results("raised")) > of(results("kart")), of.__name__
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
