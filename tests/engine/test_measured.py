import math

import pytest
from pydantic import ValidationError

from scribeline.engine import INSTRUMENTS, EngineRecord, Measured, Part, Spec, read_record, readings
from scribeline.engine.explaining import _model_in
from scribeline.engine.measured import given
from tests.engine.samples import SOUND, spoiled


def models_below(model: type[Part]) -> list[type[Part]]:
    found = [model]
    for field in model.model_fields.values():
        inner = _model_in(field.annotation)
        if inner is not None and issubclass(inner, Part) and inner not in found:
            found += models_below(inner)
    return found


MEASURED_FIELDS = [
    (model, name)
    for model in models_below(EngineRecord)
    for name, field in model.model_fields.items()
    if _model_in(field.annotation) is Measured
]
UNITS = {"mm", "mm2", "m2", "cc", "deg", "g", "kg", "rpm", "ratio"}


def test_the_record_has_measured_fields_in_all_its_parts() -> None:
    assert len(MEASURED_FIELDS) > 80


@pytest.mark.parametrize(("model", "name"), MEASURED_FIELDS, ids=[f"{m.__name__}.{n}" for m, n in MEASURED_FIELDS])
def test_every_measured_field_says_what_it_takes_and_how_it_is_measured(model: type[Part], name: str) -> None:
    spec = model.spec(name)
    assert spec is not None
    assert spec.unit in UNITS
    assert math.isfinite(spec.low)
    assert math.isfinite(spec.high)
    assert spec.low < spec.high
    assert len(spec.how) > 5
    assert "\n" not in spec.how
    assert INSTRUMENTS[spec.instrument][spec.unit] >= 0
    said = {unit for unit in UNITS if f"{name}_".replace("_atdc", "").endswith(f"_{unit}_")}
    assert said - {"ratio"} == {spec.unit} - {"ratio"}


def test_no_default_plus_minus_is_negative() -> None:
    assert all(spread >= 0 for by_unit in INSTRUMENTS.values() for spread in by_unit.values())
    assert all(set(by_unit) <= UNITS for by_unit in INSTRUMENTS.values())


def test_a_field_cannot_be_declared_with_an_instrument_of_another_unit() -> None:
    with pytest.raises(ValueError, match="burette has no default"):
        given("mm", 0, 1, "how", "burette")


def test_what_is_accepted_is_said_with_its_unit_and_a_ratio_without() -> None:
    assert Spec("mm", 10, 200, "across", "ruler").accepted == "10 to 200 mm"
    assert Spec("ratio", 0.002, 0.2, "counted", "counted").accepted == "0.002 to 0.2"


BORE = Spec("mm", 10, 200, "across the bore", "bore gauge")


@pytest.mark.parametrize(
    ("measured", "plus_minus"),
    [
        (Measured(value=50.0), 0.01),
        (Measured(value=50.0, instrument="caliper in the bore"), 0.15),
        (Measured(value=50.0, plus_minus=0.5, instrument="ruler"), 0.5),
        (Measured(value=50.0, plus_minus=0.0), 0.0),
        (Measured(value=50.0, instrument="burette"), 0.01),  # a burette has no +/- in mm: the field's own holds
    ],
)
def test_plus_minus_is_as_given_or_that_of_its_instrument_or_the_usual_one(
    measured: Measured, plus_minus: float
) -> None:
    assert measured.resolved_plus_minus(BORE) == plus_minus


@pytest.mark.parametrize("wrong", [True, "50", None, math.nan, math.inf, {"value": 1.0, "spread": 2.0}, [1.0]])
def test_nothing_but_a_number_or_its_table_is_a_measured_value(wrong: object) -> None:
    with pytest.raises(ValidationError):
        Measured.model_validate(wrong)


def test_a_record_cannot_be_changed() -> None:
    record = read_record(SOUND)
    with pytest.raises(ValidationError, match="frozen"):
        record.crank.stroke_mm.value = 51.0  # type: ignore[misc]
    with pytest.raises(ValidationError, match="frozen"):
        record.name = "other"  # type: ignore[misc]


def test_readings_go_through_every_measured_number_in_order() -> None:
    found = list(readings(read_record(SOUND)))
    places = [one.place for one in found]
    assert places[:4] == [
        "crank.stroke_mm",
        "crank.rod_length_mm",
        "crank.pin_offset_mm",
        "cylinder.bore_mm",
    ]
    assert "cylinder.ring_pegs_deg.2" in places
    assert "gaskets.base.1.compressed_mm" in places
    assert "piston.openings.boost window.width_mm" in places
    assert "squish.readings.2.gap_mm" in places
    assert "ports.transfer.width_arc_mm" in places
    assert "exhaust.sections.diffuser.end_mm" in places
    assert len(places) == len(set(places)) == 55
    by_place = {one.place: one for one in found}
    assert by_place["ports.exhaust.bridge_mm"].measured.value == 2.0
    assert by_place["ports.exhaust.bridge_mm"].spec.unit == "mm"


@pytest.mark.parametrize(
    ("typed", "plus_minus", "assumed"),
    [
        ("50.0", 0.01, True),
        ("{ value = 50.0, plus_minus = 0.2 }", 0.2, False),
        ("{ value = 50.0, plus_minus = 0 }", 0.0, False),
    ],
)
def test_an_assumed_plus_minus_says_so(typed: str, plus_minus: float, assumed: bool) -> None:
    record = read_record(spoiled(("bore_mm = 50.0", f"bore_mm = {typed}")))
    bore = next(one for one in readings(record) if one.place == "cylinder.bore_mm")
    assert (bore.plus_minus, bore.plus_minus_is_assumed) == (plus_minus, assumed)
