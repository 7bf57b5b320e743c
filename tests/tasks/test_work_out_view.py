"""What the page shows of the work in hand: whole, unfinished, contradicting itself, and as if an edge were moved."""

import doctest
import re
import tomllib
from typing import Any

import pytest

from scribeline.geometry.work_out import work_out
from scribeline.plan.not_held import not_held_words
from scribeline.tasks import work_out_view
from scribeline.tasks.card import explain
from scribeline.tasks.trial_vehicle import vehicle_of
from scribeline.tasks.work_out_view import (
    agreed,
    answers_of,
    bench_of,
    chief_numbers,
    edges,
    measured_at,
    places_in_words,
    taken_as,
    warned,
    what_moved,
    working_of,
)
from tests.examples import KART, SOUND, card_of, edited, text_of


def document(**more: Any) -> dict[str, Any]:
    return {"record": tomllib.loads(text_of(KART)), **more}


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(work_out_view).failed == 0


def test_the_numbers_are_those_of_the_card() -> None:
    bench, card = bench_of(document()), card_of(KART)
    assert bench.now is not None
    assert {name: (one.value, one.plus_minus) for name, one in bench.now.values.items()} == {
        name: (one.value, one.plus_minus) for name, one in card.out.values.items()
    }
    assert [one.message for one in warned(bench)] == [one.message for one in card.warnings]
    assert all(one.was for one in warned(bench))


def test_an_edge_in_motion_keeps_its_plus_minus_until_the_new_one_is_there() -> None:
    quick = bench_of(document(), moves={"exhaust": {"roof": 1.005}}, plus_minus=False)
    assert quick.now is not None
    assert quick.measured is not None
    name = "exhaust_opens_deg_atdc"
    assert quick.now.values[name].plus_minus == quick.measured.values[name].plus_minus
    sure = bench_of(document(), moves={"exhaust": {"roof": 1.005}})
    assert sure.now is not None
    assert sure.now.values[name].value == quick.now.values[name].value
    assert sure.now.values[name].plus_minus == pytest.approx(quick.now.values[name].plus_minus, rel=0.1)
    assert sure.now.values[name].plus_minus != quick.now.values[name].plus_minus
    assert [one.agree for one in quick.now.agreements] == [one.agree for one in sure.now.agreements]


def test_what_moved_is_said_with_its_change() -> None:
    """One millimetre of the roof; the change of angle from the piston's speed there, v = dx/dθ, to first order."""
    bench = bench_of(document(as_if={"exhaust": {"roof_mm": 1.0}}), plus_minus=False)
    assert bench.as_if == "exhaust: roof 1.00 mm higher"
    said = what_moved(bench)
    assert said[0] == "exhaust opens 88.02° (2.3° earlier)"
    assert "displacement" not in " ".join(said)
    assert [one.label for one in chief_numbers(bench)][:2] == ["exhaust opens", "exhaust open for"]


def test_what_no_engine_could_have_is_refused_and_the_numbers_stay_as_measured() -> None:
    bench = bench_of(document(), moves={"exhaust": {"roof": -25.0}}, plus_minus=False)
    assert "never reached by the piston" in bench.refused
    assert bench.now is bench.measured
    assert bench.moves == {}


def test_a_warning_that_comes_with_a_moved_edge_is_marked() -> None:
    narrow = bench_of(document(as_if={"exhaust": {"width_mm": 12.0}}), plus_minus=False)
    new = [one.about for one in warned(narrow) if not one.was]
    assert "exhaust_width_share_of_bore" in new
    assert "squish_gap_mm" not in new


def test_the_working_of_a_number_says_what_explain_says() -> None:
    """The page and `scribeline card --explain` word one working in two places; no sentence may differ."""
    bench, card = bench_of(document()), card_of(KART)
    for name in ("exhaust_opens_deg_atdc", "compression_ratio_trapped", "ports.intake.floor_depth_mm", "squish_gap_mm"):
        shown, told = working_of(bench, name), explain(card, name)
        assert shown is not None
        for said in (shown.formula, shown.put_in, shown.source, *(one.text for one in shown.inputs),
                     *(one.words for one in shown.inputs), *(by for _, _, by in shown.makes)):  # fmt: skip
            assert said in told
        most_first = told.partition("most first\n")[2].splitlines()[: len(shown.makes)]
        assert [line.strip().partition(":")[0] for line in most_first] == [place for place, _, _ in shown.makes]
    assert working_of(bench, "no_such_number") is None


def test_a_number_that_the_engine_lacks_says_why() -> None:
    record = document()["record"]
    del record["ports"][0]
    shown = working_of(bench_of({"record": record}), "exhaust_duration_deg")
    assert shown is not None
    assert shown.absent == "No exhaust port whose roof, floor and width are known."


def test_of_an_unfinished_record_the_rest_is_worked_out_and_what_is_missing_said() -> None:
    whole = document()
    del whole["record"]["ports"][1]["width_chord_mm"]
    bench = bench_of(whole)
    assert [one.where for one in bench.problems] == ["ports.main transfer"]
    assert bench.now is not None
    assert {one.port for one in edges(bench)} == {"exhaust", "rear transfer", "intake"}
    assert bench.now.value("exhaust_duration_deg") == card_of(KART).out.value("exhaust_duration_deg")


@pytest.mark.parametrize("record", [{}, {"scribeline_record": 1, "name": "new"}, {"crank": "none"}])
def test_what_is_no_engine_yet_says_what_is_needed(record: dict[str, Any]) -> None:
    bench = bench_of({"record": record})
    assert bench.now is None
    assert {"crank", "cylinder"} <= {one.where.split(".")[0] for one in bench.problems}
    assert (answers_of(bench), chief_numbers(bench), edges(bench), warned(bench)) == ((), (), (), ())
    assert (agreed(bench), taken_as(bench)) == ((), ())


def test_readings_that_contradict_each_other_leave_the_rest() -> None:
    """A crown chamfered deeper than the exhaust's roof lies: the crown's edge never shuts that port."""
    whole = document()
    port = whole["record"]["ports"][0]
    for key in ("roof_opens_deg_atdc", "roof_closes_deg_atdc"):
        del port[key]
    port["roof_from_deck_mm"] = 3.0
    whole["record"]["piston"]["crown_chamfer_mm"] = 5.0
    bench = bench_of(whole)
    assert bench.problems == ()
    assert "measure them again" in bench.contradiction
    assert bench.now is not None
    assert {one.port for one in edges(bench)} == {"main transfer", "rear transfer", "intake"}


@pytest.mark.parametrize("name", SOUND)
def test_every_reading_has_a_place_where_it_is_measured(name: str) -> None:
    bench = bench_of({"record": tomllib.loads(text_of(name))}, plus_minus=False)
    assert bench.now is not None
    places = {place: measured_at(place, bench.now.record) for place in bench.now.readings}
    assert [place for place, where in places.items() if not where] == []
    last = len(bench.now.record.ports) - 1
    assert places[f"ports.{bench.now.record.ports[last].name}.clock_deg"] == {"at": "ports", "port": str(last)}
    assert measured_at("charge_temperature_at_closing_k", bench.now.record) == {}


def test_lengths_in_inches_where_the_builder_wants_inches() -> None:
    """25.4 mm are an inch by definition (yard-and-pound-1959): 1.427 mm of squish are 0.0562 in."""
    bench = bench_of(document(as_if={"exhaust": {"roof_mm": 1.27}}), units="inch")
    chief = {one.label: one for one in chief_numbers(bench)}
    assert chief["squish gap"].text == "0.0562 ± 0.0010 in"
    assert chief["exhaust open for"].text.endswith("°")
    roof = next(one for answer in answers_of(bench) for port, some in answer.numbers for one in some
                if one.name == "ports.exhaust.roof_depth_mm")  # fmt: skip
    assert roof.change == "0.05 in higher"


def test_what_was_written_for_the_record_file_is_said_in_words() -> None:
    """Two sentences of the pages name places of a record; whoever reads a page has never seen its file."""
    record = edited()
    said = [*vehicle_of(record).assumed, not_held_words(work_out(record, draws=0))]
    file_like = re.compile(r"\w_\w|\w[.]\w*_|\[")
    assert [one for one in said if file_like.search(one)]  # else there is nothing to be put into words any more
    words = [places_in_words(one) for one in said]
    assert [one for one in words if file_like.search(one)] == []
    assert "vehicle: drag area = 0.6: typical with a rider, judgement: coast down to know yours" in words
