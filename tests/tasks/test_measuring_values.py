"""What is typed and tapped at a field. Conversions against the exact inch of 25.4 mm (yard-and-pound-1959)."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scribeline.errors import TypedValueError
from scribeline.tasks.measuring_fields import MeasuringField, fields_of_measuring
from scribeline.tasks.measuring_values import (
    cleared_at,
    judge_typed,
    shown,
    step_of,
    stepped,
    with_instrument,
    with_plus_minus,
)

BORE = "record.cylinder.bore_mm"


def field(path: str, record: dict[str, Any] | None = None) -> MeasuringField:
    stations = fields_of_measuring(record or {})
    return next(one for station in stations for one in station.fields() if one.path == path)


@pytest.mark.parametrize(
    ("text", "unit", "expected"),
    [
        ("50.02", "mm", 50.02),
        (" 50,02 mm ", "mm", {"value": 50.02, "typed": "50,02 mm"}),
        ("1 27/32 in", "mm", {"value": 46.83125, "typed": "1 27/32 in"}),
        ("1.97", "inch", {"value": 50.038, "typed": "1.97 in"}),
        ("1 31/32", "inch", {"value": 50.00625, "typed": "1 31/32 in"}),
        ("50 mm", "inch", 50.0),
        ("50.02 ± 0.01", "mm", {"value": 50.02, "plus_minus": 0.01}),
        ("1.97 ± 0.001", "inch", {"value": 50.038, "plus_minus": 0.0254, "typed": "1.97 in ± 0.001 in"}),
        ("", "mm", None),
        ("  ", "inch", None),
    ],
)
def test_a_typed_length(text: str, unit: Any, expected: Any) -> None:
    assert judge_typed(BORE, text, unit) == expected


def test_instrument_and_plus_minus_stay_when_the_value_is_typed_again() -> None:
    before = {"value": 46.0, "with": "caliper", "plus_minus": 0.03, "typed": "46.0 mm"}
    assert judge_typed(BORE, "50", before=before) == {"value": 50.0, "with": "caliper", "plus_minus": 0.03}
    assert judge_typed(BORE, "50 ± 0.02", before=before) == {"value": 50.0, "plus_minus": 0.02, "with": "caliper"}


@pytest.mark.parametrize(
    ("path", "text", "reason"),
    [
        (BORE, "500", r"outside the accepted range\n    accepted: 10 to 200 mm\n    what to do: measure again"),
        (BORE, "abc", "accepted"),
        (BORE, "1.234,5", "accepted"),
        ("record.crank.rod_length_mm", "90°", "accepted"),
        ("record.cylinder.count", "two", "not a whole number"),
        ("record.squish.head_gasket_fitted", "perhaps", "neither yes nor no"),
        ("record.ports.0.role", "window", "none of these"),
        ("record.cylinder.ring_pegs_deg", "160 400", "outside the accepted range"),
        ("record.speed_rpm", "99", "100 to 30000 rpm"),
    ],
)
def test_a_refusal_names_the_accepted_range(path: str, text: str, reason: str) -> None:
    with pytest.raises(TypedValueError, match=reason):
        judge_typed(path, text)


def test_other_kinds_of_field() -> None:
    assert judge_typed("record.ports.0.role", "boost") == "boost"
    assert judge_typed("record.squish.head_gasket_fitted", "yes") is True
    assert judge_typed("record.cylinder.count", "2") == 2
    assert judge_typed("record.name", " Barn find ") == "Barn find"
    assert judge_typed("record.cylinder.ring_pegs_deg", "160 200") == [160.0, 200.0]
    assert judge_typed("record.cylinder.ring_pegs_deg", "160; 200½°") == [160.0, {"value": 200.5, "typed": "200½°"}]
    assert judge_typed("record.ports.0.outline_mm", "-6.5 38\n6.5 38\n0 50") == [[-6.5, 38], [6.5, 38], [0, 50]]
    with pytest.raises(KeyError):
        judge_typed("record.nothing", "1")


def test_the_same_value_with_another_instrument() -> None:
    before = {"value": 46.83125, "typed": "1 27/32 in", "plus_minus": 0.02, "with": "caliper"}
    assert with_instrument(BORE, before, "micrometer") == {
        "value": 46.83125, "typed": "1 27/32 in", "with": "micrometer",
    }  # fmt: skip
    assert with_instrument(BORE, 46.8, "ruler") == {"value": 46.8, "with": "ruler"}
    with pytest.raises(TypedValueError, match="gives no such number"):
        with_instrument(BORE, 46.8, "burette")
    with pytest.raises(TypedValueError, match="not measured"):
        with_instrument("record.name", "kart", "caliper")


def test_a_plus_minus_of_ones_own_and_the_usual_again() -> None:
    own = with_plus_minus(BORE, {"value": 50.0, "typed": "50 mm"}, "0.02")
    assert own == {"value": 50.0, "typed": "50 mm", "plus_minus": 0.02}
    assert with_plus_minus(BORE, 50.0, "± 0.001", "inch") == {"value": 50.0, "plus_minus": 0.0254}
    assert with_plus_minus(BORE, own, "") == {"value": 50.0, "typed": "50 mm"}
    assert with_plus_minus(BORE, {"value": 50.0, "plus_minus": 1.0}, " ") == 50.0
    with pytest.raises(TypedValueError):
        with_plus_minus(BORE, 50.0, "-1")


def test_a_step_is_the_smallest_that_the_instrument_shows() -> None:
    bore = field(BORE)
    assert step_of(bore, 50.0) == 0.005  # the bore gauge is the usual one here
    assert stepped(bore, 50.0, 1) == 50.005
    assert stepped(bore, {"value": 50.0, "with": "caliper", "typed": "50.0 mm"}, -10) == {
        "value": 49.9, "with": "caliper",
    }  # fmt: skip
    assert stepped(bore, 50.002, 1) == 50.005
    assert stepped(bore, 50.002, -1) == 50.0
    assert stepped(bore, None, 1) == 10.005  # it begins where the accepted range does
    assert stepped(bore, 200.0, 1) == 200.0
    assert stepped(field("record.cylinder.count"), 2, -5) == 1


def test_a_step_in_inches_keeps_what_would_have_been_typed() -> None:
    assert stepped(field(BORE), {"value": 50.038, "typed": "1.97 in"}, 1, "inch") == {
        "value": pytest.approx(1.9705 * 25.4, abs=1e-12), "typed": "1.9705 in",
    }  # fmt: skip
    assert stepped(field(BORE), 199.999, 9, "inch")["typed"] == "7.8740 in"


@given(st.floats(10, 200), st.integers(-50, 50))
def test_steps_never_leave_the_range_and_come_back(value: float, steps: int) -> None:
    bore = field(BORE)
    there = stepped(bore, value, steps) if steps else value
    assert 10 <= there <= 200
    if 11 < value < 199 and steps:
        assert abs(there - value) <= abs(steps) * 0.005 + 1e-6
        assert abs(stepped(bore, there, -steps) - there) == pytest.approx(abs(steps) * 0.005, abs=1e-6)


def test_how_a_value_is_shown_in_either_unit() -> None:
    bore = field(BORE)
    typed = {"value": 46.83125, "typed": "1 27/32 in", "with": "caliper"}
    assert (shown(bore, typed).text, shown(bore, typed).also) == ("1 27/32 in", "46.831 ± 0.050 mm")
    assert shown(bore, typed, "inch").also == "1.8438 ± 0.0020 in"
    assert (shown(bore, 50.0).text, shown(bore, 50.0).plus_minus) == ("50", "± 0.01 mm")
    assert shown(bore, 50.8, "inch").text == "2"
    assert shown(bore, {"value": 50, "plus_minus": 0.02}).usual is False
    assert shown(bore, None).text == ""
    assert shown(bore, "broken").text == "broken"
    assert shown(field("record.cylinder.ring_pegs_deg"), [160, {"value": 200.5, "typed": "200½°"}]).text == "160; 200½°"
    assert shown(field("record.squish.head_gasket_fitted"), False).text == "no"


@given(st.floats(10.01, 199.99), st.sampled_from(["mm", "inch"]))
def test_what_is_shown_reads_back_as_the_same_length(value: float, unit: Any) -> None:
    text = shown(field(BORE), value, unit).text
    again = judge_typed(BORE, text, unit)
    number = again["value"] if isinstance(again, dict) else again
    assert number == pytest.approx(value, abs=0.00005 * 25.4 if unit == "inch" else 5e-7)


def test_clearing_a_field_leaves_no_empty_table() -> None:
    record = {"squish": {"solder_diameter_mm": 2}, "intake": {"reed": {"petals": 4}}, "ports": [{"name": "a"}],
              "crank": {"stroke_mm": 50, "rod_length_mm": 100}}  # fmt: skip
    assert cleared_at(record, "record.squish.solder_diameter_mm") == "record.squish"
    assert cleared_at(record, "record.intake.reed.petals") == "record.intake"
    assert cleared_at(record, "record.ports.0.name") == "record.ports.0.name"
    assert cleared_at(record, "record.crank.stroke_mm") == "record.crank.stroke_mm"
