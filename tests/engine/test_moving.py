import pytest

from scribeline.engine import readings
from scribeline.engine.moving import with_readings
from tests.examples import REED, SOUND, edited


@pytest.mark.parametrize("name", SOUND)
def test_every_reading_can_be_moved_and_nothing_else_moves(name: str) -> None:
    record = edited(name=name)
    before = {one.place: one.measured.value for one in readings(record)}
    moved = with_readings(record, {place: 1.01 * value + 0.001 for place, value in before.items()})
    for one in readings(moved):
        assert one.measured.value == 1.01 * before[one.place] + 0.001
    assert {o.place: (o.plus_minus, o.spec) for o in readings(moved)} == {
        o.place: (o.plus_minus, o.spec) for o in readings(record)
    }
    assert with_readings(moved, before) == record


def test_one_reading_in_a_list_is_found_by_name_or_number() -> None:
    record = edited(name=REED)
    for place in ("ports.exhaust.roof_from_deck_mm", "exhaust.sections.2.length_mm"):
        moved = with_readings(record, {place: 12.5})
        changed = {
            o.place for o, was in zip(readings(moved), readings(record), strict=True) if o.measured != was.measured
        }
        assert len(changed) <= 1


def test_a_place_that_is_not_there_does_nothing() -> None:
    assert with_readings(edited(), {"nowhere.at_all_mm": 1.0}) == edited()
