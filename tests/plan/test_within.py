"""Engines within the +/-: each reading by its own width, the same for the same number, and always an engine."""

import numpy as np
import pytest

from scribeline.engine import judged_again, readings
from scribeline.errors import RecordError, SearchError
from scribeline.plan.within import drawn_within
from tests.examples import KART, REED, edited

RECORD = edited(name=KART)
DRAWN = [drawn_within(RECORD, number) for number in range(150)]


def values(record: object) -> dict[str, float]:
    return {reading.place: reading.measured.value for reading in readings(record)}  # type: ignore[arg-type]


def test_every_reading_moves_by_its_own_plus_minus() -> None:
    """Two standard deviations are the +/-; of 150 draws the spread is known to 6 %, and four times that is asked."""
    table = {reading.place: reading for reading in readings(RECORD)}
    drawn = [values(one) for one in DRAWN]
    for place, reading in table.items():
        got = np.array([one[place] for one in drawn])
        sigma = reading.plus_minus / 2.0
        if sigma == 0.0 or reading.measured.value - 4 * sigma < reading.spec.low:
            continue
        if reading.measured.value + 4 * sigma > reading.spec.high:
            continue
        assert got.std(ddof=1) == pytest.approx(sigma, rel=0.25), place
        assert abs(got.mean() - reading.measured.value) < 4.5 * sigma / 150**0.5, place


def test_what_has_no_width_stays() -> None:
    assert {one.fuel.octane_ron.value for one in DRAWN if one.fuel.octane_ron} == {98.0}
    assert {one.speed_rpm for one in DRAWN} == {9500.0}


def test_the_same_number_is_the_same_engine_and_others_are_not() -> None:
    assert drawn_within(RECORD, 3) == DRAWN[3]
    assert drawn_within(RECORD, 3, seed=2) != DRAWN[3]
    assert DRAWN[3] != DRAWN[4]


def test_two_builds_share_the_error_of_a_reading_they_share() -> None:
    other = edited(("advance_deg = 18.0", "advance_deg = 14.0"), name=KART)
    mine, theirs = values(DRAWN[0]), values(drawn_within(other, 0))
    assert {place for place in mine if mine[place] != theirs[place]} == {"ignition.advance_deg"}
    assert mine["ignition.advance_deg"] - 18.0 == pytest.approx(theirs["ignition.advance_deg"] - 14.0)


@pytest.mark.parametrize("name", [KART, REED])
def test_each_is_an_engine(name: str) -> None:
    for number in range(10):
        one = drawn_within(edited(name=name), number)
        assert judged_again(one) == one


def test_readings_too_wide_for_any_engine_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    tries = []

    def refuse(record: object) -> None:
        tries.append(record)
        raise RecordError([])

    monkeypatch.setattr("scribeline.plan.within.judged_again", refuse)
    with pytest.raises(SearchError, match=r"of 40 engines drawn .* none could be an engine"):
        drawn_within(RECORD, 1)
    assert len({one.model_dump_json() for one in tries}) == 40  # type: ignore[attr-defined]
