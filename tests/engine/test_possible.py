"""Every rule about more than one number: what breaks it is refused with line, value, accepted and remedy."""

import pytest

from scribeline.engine import Measured, read_record
from scribeline.engine.bottom_end import Crank
from scribeline.engine.possible import impossibilities
from scribeline.errors import Problem, RecordError
from tests.engine.impossible_engines import DISC, ENGINE_RULES, PISTON_PORT, REED, Edit
from tests.engine.impossible_ports import PORT_RULES
from tests.engine.samples import SOUND, line_with, spoiled

RULES = {**ENGINE_RULES, **PORT_RULES}


def refused(text: str) -> list[Problem]:
    with pytest.raises(RecordError) as caught:
        read_record(text)
    return caught.value.problems


@pytest.mark.parametrize("kind", RULES)
def test_what_no_engine_can_be_is_refused(kind: str) -> None:
    edits, line, where, value, accepted, remedy = RULES[kind]
    text = spoiled(*edits)
    (problem,) = refused(text)
    assert problem.where == where
    assert problem.value.startswith(value)
    assert problem.accepted.startswith(accepted)
    assert problem.remedy.startswith(remedy)
    assert text.count(line) == 1
    assert problem.line == text[: text.index(line)].count("\n") + 1


SOUND_AFTER_ALL: dict[str, list[Edit]] = {
    "the sample": [],
    "counts and ratios at the ends of their ranges": [
        ("count = 1", "count = 12"),
        ("gears = [2.5, 1.8]", "gears = [0.05, 50]"),
        ("{ rpm = 3000, advance_deg = 22 }", "{ rpm = 0, advance_deg = -20 }"),
        ("{ rpm = 9000, advance_deg = 16 }", "{ rpm = 30000, advance_deg = 70 }"),
        ("outline_plus_minus_mm = 0.3", "outline_plus_minus_mm = 5"),
    ],
    "an exact outline that begins at the deck of a proud piston": [
        ("deck_clearance_at_tdc_mm = 0.6", "deck_clearance_at_tdc_mm = -0.5"),
        ("    [-6, 38.0],", "    [-6, 0],"),
        ("outline_plus_minus_mm = 0.3", "outline_plus_minus_mm = 0"),
    ],
    "a single petal": [(PISTON_PORT, f'control = "reed"\n{REED.replace("petals = 4", "petals = 1")}')],
    "a hundred petals": [(PISTON_PORT, f'control = "reed"\n{REED.replace("petals = 4", "petals = 100")}')],
    "four strands of solder": [("solder_folds = 1", "solder_folds = 4")],
    "an outline of three points": [("    [-5, 50.6],\n", "")],
    "a dome that is half a sphere": [("dome_height_mm = 2.5", "dome_height_mm = 25")],
    "a bathtub that is round at its ends": [("corner_radius_mm = 6.0\n\n", "corner_radius_mm = 12\n\n")],
    "corners that just fit": [
        ("floor_from_deck_mm = 50.6", "floor_from_deck_mm = 40.0"),
        ("floor_corner_radius_mm = 5.0", "floor_corner_radius_mm = 5"),
        ("width_chord_mm = 32.0", "width_chord_mm = 12"),
    ],
    "a roof at the crown and one at bottom dead centre": [
        ("roof_from_deck_mm = 29.0", "roof_from_deck_mm = 0.6"),
        ("roof_from_crown_tdc_mm = 37.0", "roof_from_crown_tdc_mm = 50"),
        ("floor_from_crown_bdc_mm = 0.0", "floor_from_crown_bdc_mm = -5"),
    ],
    "a rod just longer than half the stroke and the offset": [("rod_length_mm = 100.0", "rod_length_mm = 25.6")],
    "a band a little wider than the bore": [("squish_outer_mm = 50.0", "squish_outer_mm = 52.0")],
    "four readings": [("{ clock_deg = 180, gap_mm = 1.5 },", "{ clock_deg = 180, gap_mm = 1.5 },\n" * 3)],
    "solder folded once": [("gap_mm = 1.5 }", "gap_mm = 3.9 }"), ("solder_folds = 1", "solder_folds = 2")],
    "a cut-out without bottom": [("bottom_from_crown_mm = 40.0\n", "")],
    "a zeroed wheel": [('readings = "raw"', 'readings = "zeroed"'), ("stop_turning_back_deg = 46.0\n", "")],
    "a reed": [(PISTON_PORT, f'control = "reed"\n{REED}')],
    "a rotary disc": [(PISTON_PORT, f'control = "rotary disc"\n{DISC}')],
    "a blind port of which nothing is known": [('role = "boost"', 'role = "blind"\nroof_from_deck_mm = 0')],
    "an intake far below, its skirt not measured": [
        (PISTON_PORT, f'control = "reed"\n{REED}'),
        ("skirt_intake_side_mm = 52.0\n", ""),
        ("roof_from_deck_mm = 55.0", "roof_from_deck_mm = 102.7"),
        ("floor_from_deck_mm = 72.0", "floor_from_deck_mm = 110.0"),
    ],
    "sections without names": [('name = "header"\n', ""), ('name = "diffuser"\n', "")],
    "a wheel read across its zero": [
        ("roof_opens_deg_atdc = 95.0", "roof_opens_deg_atdc = 300"),
        ("floor_opens_deg_atdc = 172.0", "floor_opens_deg_atdc = 17"),
    ],
    "a skirt that passes the floor first": [
        ("width_chord_mm = 30.0", "width_chord_mm = 30.0\nroof_opens_deg_atdc = 330\nfloor_opens_deg_atdc = 280")
    ],
    "heights from the deck without its clearance": [("deck_clearance_at_tdc_mm = 0.6\n", "")],
}


@pytest.mark.parametrize("kind", SOUND_AFTER_ALL)
def test_what_is_only_unusual_is_not_refused(kind: str) -> None:
    read_record(spoiled(*SOUND_AFTER_ALL[kind]))


def test_a_record_made_without_a_file_is_judged_too() -> None:
    record = read_record(SOUND)
    assert impossibilities(record) == []
    crank = Crank(stroke_mm=Measured(value=50.0), rod_length_mm=Measured(value=25.0))
    (finding,) = impossibilities(record.model_copy(update={"crank": crank}))
    assert (finding.location, finding.value) == (("crank", "rod_length_mm"), "25")


def test_the_sample_is_spoiled_in_one_place_only() -> None:
    assert line_with(SOUND, "bore_mm = 50.0") == 11
    with pytest.raises(AssertionError):
        spoiled(("mm", "cm"))
