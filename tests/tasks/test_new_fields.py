from typing import Literal

import pytest

from scribeline.engine import Measured, Part, Port
from scribeline.engine.bottom_end import Crank, CrankcaseEstimate, Cylinder, Gaskets, GasketSheet, Piston
from scribeline.engine.breathing import AdvancePoint, Exhaust, Intake, Reed, Section
from scribeline.engine.record import EngineRecord
from scribeline.engine.vehicle import Drivetrain
from scribeline.errors import TypedValueError
from scribeline.tasks.new_fields import about, as_typed, inside, is_part, kind_of, label_of, title_of


@pytest.mark.parametrize(
    ("model", "name", "holds", "many"),
    [
        (Crank, "stroke_mm", Measured, False),
        (Crank, "pin_offset_mm", Measured, False),
        (Cylinder, "ring_pegs_deg", Measured, True),
        (Cylinder, "count", int, False),
        (Cylinder, "bore_surface", Literal["plated", "iron"], False),
        (Piston, "crown", Literal["flat", "dome", "deflector"], False),
        (Gaskets, "base", GasketSheet, True),
        (Exhaust, "sections", Section, True),
        (Intake, "reed", Reed, False),
        (Drivetrain, "gears", float, True),
        (Port, "outline_mm", tuple[float, float], True),
        (Port, "outline_plus_minus_mm", float, False),
        (Section, "name", str, False),
    ],
)
def test_what_a_field_holds_is_found_in_its_annotation(model: type[Part], name: str, holds: object, many: bool) -> None:
    assert inside(model, name) == (holds, many)
    assert is_part(holds) == (holds in (GasketSheet, Section, Reed))


@pytest.mark.parametrize(
    ("model", "name", "label"),
    [
        (Crank, "rod_length_mm", "rod length"),
        (Port, "roof_opens_deg_atdc", "roof opens"),
        (AdvancePoint, "rpm", "rpm"),
        (Drivetrain, "gears", "gear"),
        (Cylinder, "count", "number of cylinders"),
    ],
)
def test_a_label_is_the_name_of_the_field_in_plain_words(model: type[Part], name: str, label: str) -> None:
    assert label_of(model, name) == label


def test_a_part_is_called_and_described_by_its_class() -> None:
    assert title_of(CrankcaseEstimate) == "crankcase estimate"
    assert title_of(Crank) == "crank"
    assert about(Crank) == "The slider-crank."


@pytest.mark.parametrize(
    ("model", "name", "typed", "value"),
    [
        (Crank, "stroke_mm", "2 in", {"value": 50.8, "typed": "2 in"}),
        (Cylinder, "count", "2", 2),
        (Cylinder, "cooling", "water", "water"),
        (Section, "name", "header", "header"),
        (Port, "mirrored", "y", True),
        (Port, "outline_mm", "1 2", [1.0, 2.0]),
        (Port, "outline_plus_minus_mm", "0.1 cm", 1.0),
        (AdvancePoint, "advance_deg", "20°", 20.0),
        (AdvancePoint, "rpm", "9000 rpm", 9000.0),
        (Drivetrain, "gears", "2.5:1", 2.5),
        (EngineRecord, "speed_rpm", "9000", 9000.0),
    ],
)
def test_the_kind_of_answer_follows_from_the_field(model: type[Part], name: str, typed: str, value: object) -> None:
    assert kind_of(model, name).read(typed) == value


def test_the_range_of_a_set_number_comes_from_its_field() -> None:
    with pytest.raises(TypedValueError, match="accepted: 100 to 30000 rpm"):
        kind_of(EngineRecord, "speed_rpm").read("31000")


def test_a_default_is_shown_as_it_would_be_typed() -> None:
    assert [as_typed(default) for default in (True, False, 1, "flat")] == ["yes", "no", "1", "flat"]
