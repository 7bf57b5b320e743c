import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Literal

import pytest

from scribeline.engine import EngineRecord, Measured, Part, read_record
from scribeline.engine.explaining import _model_in
from scribeline.engine.measured import given
from scribeline.tasks import new_fields, new_questions, new_wording
from scribeline.tasks.new_questions import Question, standing
from scribeline.tasks.new_record import Conversation
from tests.engine.samples import SOUND
from tests.tasks.builder import as_typed, asked_of, finish, typed_for

EXAMPLES = Path(__file__).parents[2] / "examples"
CLUB_KART, REED = (tomllib.loads((EXAMPLES / name).read_text()) for name in ("club-kart-98.toml", "reed-125.toml"))


def parts_below(model: type[Part]) -> list[type[Part]]:
    found = [model]
    for field in model.model_fields.values():
        inner = _model_in(field.annotation)
        if inner is not None and issubclass(inner, Part) and inner not in found:
            found += parts_below(inner)
    return found


def questions_to(data: dict[str, Any]) -> dict[str, Question]:
    """Every question that is asked of a builder who has measured `data`, by place."""
    _, asked = asked_of(EngineRecord, "", lambda question: typed_for(question, data))
    return {question.place: question for question, _ in asked}


def without_instruments(data: Any) -> Any:
    """An engine as it can be typed: without the names of instruments, the outlines of joint faces, which are drawn off
    the part and not asked for, and not marked as invented."""
    if isinstance(data, dict):
        never = ("with", "invented", "face_mm", "base_face_mm")
        return {key: without_instruments(one) for key, one in data.items() if key not in never}
    return [without_instruments(one) for one in data] if isinstance(data, list) else data


@pytest.mark.parametrize("data", [CLUB_KART, REED, tomllib.loads(SOUND)], ids=["club kart", "reed", "sample"])
def test_a_whole_engine_can_be_typed_in(data: dict[str, Any]) -> None:
    conversation = Conversation()
    assert len(finish(conversation, data)) > 100
    assert conversation.record() == EngineRecord.model_validate(_tuples(without_instruments(data)))


def _tuples(value: Any) -> Any:
    if isinstance(value, list):
        return tuple(_tuples(one) for one in value)
    return {key: _tuples(one) for key, one in value.items()} if isinstance(value, dict) else value


def test_parts_are_asked_in_the_order_of_taking_an_engine_apart() -> None:
    order = list(dict.fromkeys(place.split(".")[0] for place in questions_to(REED)))
    assert order == [
        "name", "note", "speed_rpm", "crank", "cylinder", "gaskets", "piston", "head", "squish", "degree_wheel",
        "ports", "crankcase", "intake", "exhaust", "ignition", "fuel", "drivetrain", "vehicle",
    ]  # fmt: skip


def test_a_builder_with_the_least_is_asked_for_the_least() -> None:
    least = {
        "name": "x",
        "speed_rpm": 9000,
        "crank": {"stroke_mm": 50.0, "rod_length_mm": 100.0},
        "cylinder": {"bore_mm": 50.0},
    }
    conversation = Conversation()
    lines = finish(conversation, least)
    assert conversation.record() == read_record(
        'scribeline_record = 1\nname = "x"\nspeed_rpm = 9000\n[crank]\nstroke_mm = 50\nrod_length_mm = 100\n'
        "[cylinder]\nbore_mm = 50"
    )
    assert len([line for line in lines if line not in ("", "n")]) == 5
    assert len(lines) < 60


# Each question is asked of one builder, and not of the other, to whom it would make no sense.
MAKES_SENSE = [
    ("piston.dome_height_mm", {"piston": {"crown": "dome"}}, {"piston": {"crown": "flat"}}),
    ("piston.deflector_volume_cc", {"piston": {"crown": "deflector"}}, {"piston": {"crown": "dome"}}),
    ("head.plug_thread_cc", {"head": {"chamber_on_bench_cc": 11.0}}, {"head": {}}),
    ("head.plug_thread_cc", {"head": {"clearance_on_engine_cc": 11.0}}, {"head": {}}),
    ("head.shape.kind", {"head": {"shape": {}}}, {"head": {}}),
    ("head.shape.length_mm", {"head": {"shape": {"kind": "bathtub"}}}, {"head": {"shape": {"kind": "dome"}}}),
    ("head.shape.width_mm", {"head": {"shape": {"kind": "bathtub"}}}, {"head": {"shape": {"kind": "bowl"}}}),
    ("head.shape.corner_radius_mm", {"head": {"shape": {"kind": "bathtub"}}}, {"head": {"shape": {"kind": "dome"}}}),
    ("head.shape.mouth_diameter_mm", {"head": {"shape": {"kind": "dome"}}}, {"head": {"shape": {"kind": "bathtub"}}}),
    ("head.shape.mouth_diameter_mm", {"head": {"shape": {"kind": "bowl"}}}, {"head": {"shape": {"kind": "bathtub"}}}),
    ("head.shape.floor_diameter_mm", {"head": {"shape": {"kind": "bowl"}}}, {"head": {"shape": {"kind": "dome"}}}),
    ("squish.solder_diameter_mm", {"squish": {}}, {}),
    ("degree_wheel.readings", {"degree_wheel": {}}, {}),
    (
        "degree_wheel.stop_turning_back_deg",
        {"degree_wheel": {"readings": "raw"}},
        {"degree_wheel": {"readings": "zeroed"}},
    ),
    ("ports.1.mirrored", {"ports": [{"clock_deg": 75}]}, {"ports": [{"clock_deg": 180}]}),
    ("ports.1.mirrored", {"ports": [{"clock_deg": {"value": 75, "plus_minus": 1}}]}, {"ports": [{"clock_deg": 360}]}),
    ("ports.1.width_arc_mm", {"ports": [{"width_arc_mm": 20}]}, {"ports": [{"width_chord_mm": 20}]}),
    ("ports.1.outline_mm.1", {"ports": [{"outline_mm": [[1, 2]]}]}, {"ports": [{"width_chord_mm": 20}]}),
    ("ports.1.outline_plus_minus_mm", {"ports": [{"outline_mm": [[1, 2]]}]}, {"ports": [{"width_chord_mm": 20}]}),
    ("ports.1.roof_corner_radius_mm", {"ports": [{"width_chord_mm": 20}]}, {"ports": [{"outline_mm": [[1, 2]]}]}),
    ("ports.1.floor_corner_radius_mm", {"ports": [{"width_chord_mm": 20}]}, {"ports": [{"outline_mm": [[1, 2]]}]}),
    ("ports.1.roof_from_deck_mm", {"ports": [{}]}, {"ports": [{"roof_from_crown_tdc_mm": 20}]}),
    (
        "ports.1.trust",
        {"degree_wheel": {}, "ports": [{"floor_from_deck_mm": 50, "floor_opens_deg_atdc": 170}]},
        {"ports": [{}]},
    ),
    ("crankcase.estimate", {"crankcase": {}}, {"crankcase": {"volume_at_bdc_cc": 255}}),
    ("intake.control", {"intake": {}}, {}),
    ("intake.reed.petals", {"intake": {"control": "reed"}}, {"intake": {"control": "piston port"}}),
    ("intake.disc.opens_deg_atdc", {"intake": {"control": "rotary disc"}}, {"intake": {"control": "reed"}}),
    (
        "exhaust.sections.1.bend_radius_mm",
        {"exhaust": {"sections": [{"bend_deg": 80}]}},
        {"exhaust": {"sections": [{}]}},
    ),
    ("exhaust.sections.1.length_mm", {"exhaust": {}}, {}),
    ("ignition.table.1.rpm", {"ignition": {}}, {"ignition": {"advance_deg": 18}}),
]


def filled(data: dict[str, Any]) -> dict[str, Any]:
    """`data` with plain answers to whatever else is needed."""

    def add(part: dict[str, Any], **needed: Any) -> None:
        part.update({key: value for key, value in needed.items() if key not in part})

    add(data, name="x", speed_rpm=9000, crank={"stroke_mm": 50, "rod_length_mm": 100}, cylinder={"bore_mm": 50})
    add(data.get("piston", {}), dome_height_mm=2, deflector_volume_cc=3)
    shape = data.get("head", {}).get("shape", {})
    add(shape, kind="bathtub", depth_mm=8, mouth_diameter_mm=34, floor_diameter_mm=20, length_mm=30, width_mm=24)
    if "squish" in data:
        readings = [{"clock_deg": clock, "gap_mm": 1} for clock in (0, 180)]
        add(data["squish"], head_gasket_fitted=True, solder_diameter_mm=2, readings=readings)
    add(data.get("degree_wheel", {}), readings="raw", stop_turning_forwards_deg=318, stop_turning_back_deg=46)
    for port in data.get("ports", []):
        edges = {key.split("_")[0] for key in port if key.startswith(("roof_from", "floor_from", "floor_opens"))}
        add(port, name="a", role="exhaust", clock_deg=0)
        if "outline_mm" not in port:
            add(port, **{f"{edge}_from_deck_mm": 30 for edge in {"roof", "floor"} - edges})
            if "width_arc_mm" not in port:
                add(port, width_chord_mm=20)
    reed = {
        "petals": 4, "petal_length_mm": 30, "petal_width_mm": 20, "petal_thickness_mm": 0.4, "material": "steel",
        "block_area_mm2": 500,
    }  # fmt: skip
    disc = {
        "opens_deg_atdc": 220,
        "closes_deg_atdc": 60,
        "inlet_diameter_mm": 26,
        "inlet_centre_radius_mm": 36,
    }
    add(data.get("intake", {}), control="piston port", reed=reed, disc=disc)
    sections = data.get("exhaust", {}).setdefault("sections", [{}]) if "exhaust" in data else []
    for section in sections:
        add(section, length_mm=240, start_mm=34, end_mm=38)
    return data


@pytest.mark.parametrize(("place", "asked", "not_asked"), MAKES_SENSE, ids=[place for place, _, _ in MAKES_SENSE])
def test_a_question_is_asked_where_it_makes_sense(place: str, asked: dict[str, Any], not_asked: dict[str, Any]) -> None:
    assert place in questions_to(filled(asked))
    assert place not in questions_to(filled(not_asked))


def test_the_degree_wheel_is_offered_only_where_one_was_used() -> None:
    with_wheel = filled({"degree_wheel": {}, "ports": [{}]})
    assert "degree wheel" in questions_to(with_wheel)["ports.1.roof"].kind.accepts
    assert "degree wheel" not in questions_to(filled({"ports": [{}]}))["ports.1.roof"].kind.accepts


def test_an_edge_is_needed_unless_an_outline_has_it_or_the_port_is_blind() -> None:
    assert questions_to(filled({"ports": [{}]}))["ports.1.roof"].on_enter is None
    assert questions_to(filled({"ports": [{}]}))["ports.1.roof_from_deck_mm"].on_enter is None
    assert questions_to(filled({"ports": [{"outline_mm": [[1, 2]]}]}))["ports.1.roof"].on_enter == "leave it out"
    assert questions_to(filled({"ports": [{"role": "blind"}]}))["ports.1.width"].on_enter == "leave it out"
    assert questions_to(filled({"ports": [{}]}))["ports.1.width"].on_enter is None


def test_a_question_says_all_a_builder_needs() -> None:
    rod = questions_to(CLUB_KART)["crank.rod_length_mm"]
    assert rod.progress == "crank, 2 of 3"
    assert rod.label == "rod length"
    assert rod.hint == "centre of the big-end eye to centre of the small-end eye"
    assert rod.kind.accepts == "10 to 600 mm; ± 0.05 mm unless you type another (caliper)"
    assert rod.on_enter is None
    assert rod.about == "The slider-crank."


@pytest.mark.parametrize(
    ("place", "progress", "label", "on_enter"),
    [
        ("crank.pin_offset_mm", "crank, 3 of 3", "pin offset", "leave it out"),
        ("cylinder.count", "cylinder, 4 of 7", "number of cylinders", "1"),
        ("cylinder.ring_pegs_deg.1", "cylinder", "ring peg 1", "none"),
        ("cylinder.ring_pegs_deg.3", "cylinder", "ring peg 3", "no more (2 so far)"),
        ("gaskets.base.1.nominal_mm", "base gasket, sheet 1, 1 of 3", "thickness as bought", "none"),
        ("piston.crown", "piston, 1 of 8", "piston crown", "flat"),
        ("squish", "engine, 4 of 7", "was solder squeezed to measure the squish?", "no"),
        ("squish.readings.1.clock_deg", "solder reading 1, 1 of 2", "clock position", None),
        ("ports.2.name", "port 2, 1 of 13", "name", "no more (1 so far)"),
        (
            "ports.2.mirrored",
            "port 2 (main transfer), 4 of 14",
            "is there a mirror-image twin on the other side?",
            "no",
        ),
        ("exhaust.sections.1.length_mm", "pipe section 1, 1 of 5", "length", None),
        ("intake.tract.1.length_mm", "intake section 1, 1 of 5", "length", "none"),
        ("drivetrain.gears.1", "drivetrain", "gear 1", "none"),
    ],
)
def test_progress_and_what_enter_does_are_said_in_plain_words(
    place: str, progress: str, label: str, on_enter: str | None
) -> None:
    question = questions_to(CLUB_KART)[place]
    assert (question.progress, question.label, question.on_enter) == (progress, label, on_enter)


def test_progress_counts_up_to_its_end() -> None:
    last: dict[tuple[str, str], tuple[int, int]] = {}
    for question in questions_to(REED).values():
        part, counted, numbers = question.progress.rpartition(", ")
        where = question.place.rpartition(".")[0]  # head and barrel have studs each
        if counted:
            number, total = (int(word) for word in numbers.split(" of "))
            nameless = (where, part.partition(" (")[0])  # a port has its name from 2 on
            before = last.get((where, part), last.get(nameless, (0, 0)))[0]
            assert number == before + 1
            last[where, part] = (number, total)
    finished = {part for (_, part), (number, total) in last.items() if number == total}
    assert finished >= {"crank", "cylinder", "piston", "head", "engine", "drivetrain", "port 1 (exhaust)"}


class Inner(Part):
    """A part inside."""

    inner_length_mm: Measured = given("mm", 1, 10, "along it", "ruler", needed=True)


class Novel(Part):
    """A part that the tables of wording know nothing of."""

    new_width_mm: Measured = given("mm", 1, 10, "across it", "ruler", needed=True)
    shape: Literal["round", "square"] = "round"
    bolts: int = 4
    painted: bool
    colour: str | None = None
    speed_rpm: float | None = None
    spare_lengths_mm: tuple[Measured, ...] = given("mm", 1, 10, "along each", "ruler", many=True)
    holder: Inner | None = None
    washers: tuple[Inner, ...] = ()


def test_a_new_field_needs_no_new_code() -> None:
    typed = {
        "novel.new_width_mm": "1/4 in",
        "novel.shape": "square",
        "novel.painted": "y",
        "novel.speed_rpm": "500",
        "novel.spare_lengths_mm.1": "2",
        "novel.spare_lengths_mm.2": "3 ± 1",
        "novel.holder": "y",
        "novel.holder.inner_length_mm": "4",
        "novel.washers.1.inner_length_mm": "5",
    }
    data, asked = asked_of(Novel, "novel", lambda question: typed.get(question.place, ""))
    assert Novel.model_validate(_tuples(data)) == Novel(
        new_width_mm=Measured(value=6.35, typed="1/4 in"),
        shape="square",
        painted=True,
        speed_rpm=500.0,
        spare_lengths_mm=(Measured(value=2.0), Measured(value=3.0, plus_minus=1.0)),
        holder=Inner(inner_length_mm=Measured(value=4.0)),
        washers=(Inner(inner_length_mm=Measured(value=5.0)),),
    )
    by_place = {question.place: question for question, _ in asked}
    assert by_place["novel.new_width_mm"].label == "new width"
    assert by_place["novel.shape"].on_enter == "round"
    assert by_place["novel.bolts"].on_enter == "4"
    assert by_place["novel.painted"].on_enter is None
    assert by_place["novel.spare_lengths_mm.3"].on_enter == "no more (2 so far)"
    assert by_place["novel.washers.2.inner_length_mm"].progress == "washer 2, 1 of 1"


def test_every_part_of_a_list_begins_with_what_it_needs() -> None:
    """Its first question, left empty, ends the list: that it is empty must have no other meaning."""
    lists = [
        (model, name)
        for model in parts_below(EngineRecord)
        for name in model.model_fields
        if new_fields.inside(model, name)[1] and new_fields.is_part(new_fields.inside(model, name)[0])
    ]
    assert len(lists) == 8
    for model, name in lists:
        element = new_fields.inside(model, name)[0]
        assert element.model_fields[new_questions._steps(element)[0]].is_required()


def named_in_wording() -> Iterator[tuple[type[Part], str]]:
    yield from new_wording.NOT_ASKED
    yield from new_wording.NEEDED
    for table in (new_wording.ASKED_IF, new_wording.LABELS, new_wording.HINTS):
        yield from table
    for model, names in new_wording.FIRST.items():
        yield from ((model, name) for name in names)
    for model, groups in new_wording.WAYS.items():
        yield from ((model, way) for ways in groups.values() for way in ways)


def test_the_wording_speaks_of_fields_that_there_are() -> None:
    for model, name in named_in_wording():
        assert name in model.model_fields or name in new_wording.WAYS.get(model, {}), f"{model.__name__}.{name}"


def test_every_field_without_a_description_of_its_own_has_a_hint_or_speaks_for_itself() -> None:
    speaks_for_itself = {"name", "material", "gears", "petals"}
    for model in parts_below(EngineRecord):
        for name in set(new_questions._steps(model)) & set(model.model_fields):
            inner, many = new_fields.inside(model, name)
            if model.spec(name) or new_fields.is_part(inner) or name in speaks_for_itself or many:
                continue
            assert (model, name) in new_wording.HINTS, f"{model.__name__}.{name}"


def test_an_answer_that_is_not_read_any_more_is_asked_again() -> None:
    now = standing({"name": "x", "note": "", "speed_rpm": "fast"})
    assert now.next is not None
    assert now.next.place == "speed_rpm"
    assert as_typed(True) == "y"
