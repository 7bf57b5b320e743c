"""Who limits what: shares of engines whose curve is a formula, worked out by hand; and one run of the simulator."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
import pytest

from scribeline.cycle.simulate import Settings
from scribeline.engine import EngineRecord, Measured
from scribeline.errors import SearchError
from scribeline.plan import who_limits as room
from scribeline.plan.merits import Speeds, Swept
from scribeline.plan.who_limits import SHARED, answer, changed, replaced, who_limits
from tests.examples import KART, REED, edited

RECORD = edited(name=KART)
OVER = Speeds((8000.0, 9000.0, 10000.0), (8000.0, 10000.0), (8000.0, 9000.0))


def earlier(record: EngineRecord, by: float = 2.0) -> EngineRecord:
    advance = record.ignition.advance_deg
    assert advance is not None
    moved = advance.model_copy(update={"value": advance.value + by})
    return record.model_copy(update={"ignition": record.ignition.model_copy(update={"advance_deg": moved})})


def wider(record: EngineRecord) -> EngineRecord:
    assert record.intake is not None
    return record.model_copy(
        update={
            "intake": record.intake.model_copy(update={"carburettor_bore_mm": Measured(value=26.0, plus_minus=0.0)})
        }
    )


def same(record: EngineRecord) -> EngineRecord:
    return record


GROUPS = {"ignition": earlier, "intake": wider, "nothing": same}
SAID = {name: name for name in GROUPS}


def formula(records: Sequence[EngineRecord], points: Sequence[float], *a: object, **b: object) -> Iterator[Swept]:
    """Power: the advance, and 3 kW with the wide carburettor, and 1 kW more with both."""
    for record in records:
        assert record.ignition.advance_deg is not None
        assert record.intake is not None
        assert record.intake.carburettor_bore_mm is not None
        advance, wide = record.ignition.advance_deg.value, record.intake.carburettor_bore_mm.value > 25.0
        power = advance + 3.0 * wide + 0.5 * (advance > 19.0) * wide * 2.0
        flat = np.ones(len(points))
        yield Swept(np.asarray(points), power * flat, 80.0 * flat, 5.0 * flat, 700.0 * flat)


def test_shares_by_hand(monkeypatch: pytest.MonkeyPatch) -> None:
    """18 to 24 kW: 2 alone by ignition, 3 alone by intake, 1 together, half of it to each; nothing gets nothing."""
    monkeypatch.setattr(room, "sweep_many", formula)
    got = who_limits(RECORD, GROUPS, SAID, OVER, draws=0)
    assert len(got.curves) == 8
    for key in ("peak_kw", "band_kw"):
        one = got.of(key)
        assert (one.before, one.after) == (18.0, 24.0)
        assert one.shares.tolist() == pytest.approx([2.5, 3.5, 0.0])
        assert one.alone.tolist() == pytest.approx([2.0, 3.0, 0.0])
        assert one.pairs[0, 1] == pytest.approx(1.0)
        assert one.pairs[2].tolist() == pytest.approx([0.0, 0.0, 0.0])
        assert np.isnan(one.plus_minus).all()
    assert got.of("middle_rpm").shares.tolist() == pytest.approx([0.0, 0.0, 0.0])
    assert {one.quantity for one in got.shares} == {got.of(key).quantity for key in SHARED}


def test_what_the_readings_leave_open_is_not_what_the_shares_leave_open(monkeypatch: pytest.MonkeyPatch) -> None:
    """The advance is known to 1.5°, and both engines share that: the change of 2° is sure, and so are the shares."""
    monkeypatch.setattr(room, "sweep_many", formula)
    got = who_limits(RECORD, {"ignition": earlier, "intake": wider}, SAID, OVER, draws=4)
    assert got.drawn == 4
    one = got.of("peak_kw")
    assert one.plus_minus.max() < 1.1  # only the step at 19° is left open, not the 1.5° of the advance itself
    assert one.gain == pytest.approx(6.0)


def test_the_answer_is_a_sentence_with_every_share(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(room, "sweep_many", formula)
    one = who_limits(RECORD, GROUPS, SAID, OVER, draws=0).of("peak_kw")
    said = answer(one)
    assert said.startswith("most power: intake +3.50 kW, ignition +2.50 kW, nothing +0.00 kW; together +6.00 kW.")
    assert "Ignition and intake together give 1.00 kW more than the sum of each alone." in said
    unsure = replace(one, plus_minus=np.array([1.0, 1.0, 0.0]))
    assert "Which of intake and ignition does more is not certain" in answer(unsure)


def test_parts_of_another_record() -> None:
    other = edited(name=REED)
    got = replaced("exhaust", "ignition", other=other)(RECORD)
    assert (got.exhaust, got.ignition) == (other.exhaust, other.ignition)
    assert got.ports == RECORD.ports
    assert changed(RECORD, [earlier, wider]) == wider(earlier(RECORD))


@pytest.mark.parametrize("count", [0, 9])
def test_too_few_or_too_many_groups_are_refused(count: int) -> None:
    with pytest.raises(SearchError, match="accepted: 1 to 8"):
        who_limits(RECORD, {str(i): same for i in range(count)}, {}, OVER)


def test_an_engine_without_a_curve_is_named() -> None:
    gone = {"pipe": lambda record: record.model_copy(update={"exhaust": None})}
    coarse = Settings(cell_m=0.040, tolerance=0.05)
    with pytest.raises(SearchError, match="no curve with pipe changed: no exhaust pipe"):
        who_limits(RECORD, gone, {"pipe": "off"}, OVER, draws=0, settings=coarse)


def test_on_the_simulator_the_shares_add_up() -> None:
    coarse = Settings(cell_m=0.040, tolerance=0.05)
    got = who_limits(RECORD, {"ignition": earlier, "nothing": same}, SAID, OVER, draws=0, settings=coarse)
    one = got.of("band_kw")
    assert one.shares.sum() == pytest.approx(one.gain)
    assert one.shares[1] == 0.0
    assert one.gain != 0.0
