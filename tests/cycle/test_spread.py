import numpy as np
import pytest

from scribeline.cycle.simulate import Settings
from scribeline.cycle.spread import hypercube, spread
from scribeline.engine import readings
from scribeline.errors import CycleError, ScribelineError
from tests.examples import KART, REED, edited

ROUGH = Settings(cell_m=0.03, tolerance=0.01, patient=False)


def test_each_reading_uses_every_slice_of_its_normal_distribution_once() -> None:
    """Mean and standard deviation of a stratified sample are those of the distribution far closer than by chance."""
    drawn = hypercube(edited(), 64)
    for one in readings(edited()):
        if one.plus_minus == 0.0:
            assert one.place not in drawn[0]
            continue
        values = np.array([each[one.place] for each in drawn])
        z = 2.0 * (values - one.measured.value) / one.plus_minus
        assert abs(z.mean()) < 0.05
        assert z.std() == pytest.approx(1.0, abs=0.1)
        assert np.unique(np.argsort(np.argsort(z))).size == 64


def test_readings_move_independently_and_the_same_way_each_time() -> None:
    drawn = hypercube(edited(), 64)
    assert drawn == hypercube(edited(), 64)
    assert drawn != hypercube(edited(), 64, seed=1)
    bore, stroke = (np.array([each[p] for each in drawn]) for p in ("cylinder.bore_mm", "crank.stroke_mm"))
    assert abs(np.corrcoef(bore, stroke)[0, 1]) < 0.4


def test_the_same_reading_moves_the_same_way_in_two_engines() -> None:
    def z(name: str) -> list[float]:
        one = next(r for r in readings(edited(name=name)) if r.place == "cylinder.bore_mm")
        values = [each[one.place] for each in hypercube(edited(name=name), 16)]
        return [(v - one.measured.value) / one.plus_minus for v in values]

    assert z(KART) == pytest.approx(z(REED), rel=1e-9)


def test_it_can_be_stopped_and_asks_for_enough_engines() -> None:
    with pytest.raises(CycleError, match="stopped after 1 of 2 speeds"):
        spread(edited(), (9000.0, 9500.0), ROUGH, engines=4, progress=lambda done, _: True)
    with pytest.raises(CycleError, match="accepted: 4 to 1000"):
        spread(edited(), (9000.0,), ROUGH, engines=3)


def test_engines_that_cannot_be_are_counted_not_hidden() -> None:
    from scribeline.cycle.spread import of_record

    calls = iter(range(100))

    def sometimes(record):
        if next(calls) % 4 == 0:
            raise ScribelineError("cannot be")
        return of_record(record, ROUGH.air)

    done = spread(edited(), (9000.0,), ROUGH, engines=8, build=sometimes)
    assert (done.refused, len(done.results[0])) == (2, 6)

    def never(record):
        raise ScribelineError("cannot be")

    with pytest.raises(CycleError, match="no engine within the"):
        spread(edited(), (9000.0,), ROUGH, engines=8, build=never)
