"""What a record lacks, in the words of its fields, each with the way there."""

import pytest

from scribeline.tasks.what_lacks import what_lacks
from tests.tasks.test_work_out_view import document


def test_a_whole_record_lacks_nothing() -> None:
    assert what_lacks(document()["record"]) == ()


def test_an_empty_record_lacks_what_the_page_measure_calls_needed_and_no_key_of_the_file() -> None:
    found = what_lacks({"scribeline_record": 1, "name": "new"})
    assert [one.text for one in found] == [
        "Engine speed for the card: not measured yet.",
        "Stroke: not measured yet.",
        "Rod length: not measured yet.",
        "Bore: not measured yet.",
    ]
    assert found[1].measure == {"at": "bottom-end", "field": "record.crank.stroke_mm"}
    assert not any("_" in one.text for one in found)


@pytest.mark.parametrize(("units", "said"), [("mm", "floor 9.10 mm above"), ("inch", "floor 9.10 mm (0.358 in) above")])
def test_what_is_refused_leads_to_its_port_and_field(units: str, said: str) -> None:
    record = document()["record"]
    del record["ports"][1]["width_chord_mm"]
    record["ports"][0]["floor_from_deck_mm"] = 20
    floor, width = what_lacks(record, units)  # type: ignore[arg-type]
    assert floor.text.startswith(f"Exhaust: floor from deck: 20 puts the {said} the roof. Accepted: ")
    assert floor.measure == {"at": "ports", "port": "0", "field": "record.ports.0.floor_from_deck_mm"}
    assert width.text.startswith("Main transfer: no width. Accepted: width straight across, ")
    assert width.measure == {"at": "ports", "port": "1", "field": "record.ports.1"}
