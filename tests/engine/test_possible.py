"""Every rule about more than one number: what breaks it is refused with line, value, accepted and remedy."""

import pytest

from scribeline.engine import Measured, read_record
from scribeline.engine.bottom_end import Crank
from scribeline.engine.possible import impossibilities
from scribeline.errors import Problem, RecordError
from tests.engine.samples import SOUND, line_with, spoiled

Edit = tuple[str, str]

REED = (
    "reed = { petals = 4, petal_length_mm = 30, petal_width_mm = 20, petal_thickness_mm = 0.4, "
    'material = "steel", block_area_mm2 = 500 }'
)
DISC = "disc = { opens_deg_atdc = 220, closes_deg_atdc = 60, inlet_diameter_mm = 26, inlet_centre_radius_mm = 36 }"
PISTON_PORT = 'control = "piston port"'
SHAPE = 'kind = "bathtub"\ndepth_mm = 8.0\nlength_mm = 30.0\nwidth_mm = 24.0\ncorner_radius_mm = 6.0\n'
WIDE = f"{'9' * 40}"

# kind: (edits, words of the line that is meant, place, value, accepted, remedy), all as somebody would check them by
# hand: the sample has a bore and a stroke of 50, a deck clearance of 0.6 and an intake-side skirt of 52 mm.
RULES: dict[str, tuple[list[Edit], str, str, str, str, str]] = {
    "rod half the stroke": (
        [("rod_length_mm = 100.0", "rod_length_mm = 25.0"), ("pin_offset_mm = 0.5", "pin_offset_mm = 0.0")],
        "rod_length_mm = 25.0",
        "crank.rod_length_mm",
        "25",
        "more than half the stroke plus the pin offset, 25 mm",
        "measure the rod from eye centre to eye centre",
    ),
    "rod shorter than throw and offset": (
        [("rod_length_mm = 100.0", "rod_length_mm = 28"), ("pin_offset_mm = 0.5", "pin_offset_mm = -4")],
        "rod_length_mm = 28",
        "crank.rod_length_mm",
        "28",
        "more than half the stroke plus the pin offset, 29 mm",
        "measure the rod from eye centre to eye centre",
    ),
    "no cylinder": (
        [("count = 1", "count = 0")],
        "count = 0",
        "cylinder.count",
        "0",
        "1 to 12",
        "count the cylinders",
    ),
    "countless cylinders": (
        [("count = 1", f"count = {WIDE}")],
        f"count = {WIDE}",
        "cylinder.count",
        "a number of seven digits or more",
        "1 to 12",
        "count the cylinders",
    ),
    "gear of nothing": (
        [("gears = [2.5, 1.8]", "gears = [\n2.5,\n0.000\n]")],
        "0.000",
        "drivetrain.gears.2",
        "0",
        "0.05 to 50",
        "teeth on the driven",
    ),
    "ignition too early": (
        [("{ rpm = 9000, advance_deg = 16 }", "{ rpm = 9000, advance_deg = 71 }")],
        "advance_deg = 71",
        "ignition.table.2",
        "71 deg at 9000 rpm",
        "-20 to 70 deg at 0 to 30000 rpm",
        "check this point",
    ),
    "ignition at a speed below nothing": (
        [("{ rpm = 3000, advance_deg = 22 }", "{ rpm = -1, advance_deg = 22 }")],
        "rpm = -1",
        "ignition.table.1",
        "22 deg at -1 rpm",
        "-20 to 70 deg at 0 to 30000 rpm",
        "check this point",
    ),
    "band wider than the bore": (
        [("squish_outer_mm = 50.0", "squish_outer_mm = 52.1")],
        "squish_outer_mm = 52.1",
        "head.squish_outer_mm",
        "52.1",
        "at most 2 mm more than the bore, 52 mm",
        "the band counts only as far as the piston reaches",
    ),
    "band of no width": (
        [("squish_inner_mm = 34.0", "squish_inner_mm = 48"), ("squish_outer_mm = 50.0", "squish_outer_mm = 48.0")],
        "squish_inner_mm = 48",
        "head.squish_inner_mm",
        "48",
        "less than the band's outer diameter, 48 mm",
        "measure where the band ends",
    ),
    "band inside out, outer diameter left out": (
        [("squish_inner_mm = 34.0", "squish_inner_mm = 50"), ("squish_outer_mm = 50.0\n", "")],
        "squish_inner_mm = 50",
        "head.squish_inner_mm",
        "50",
        "less than the band's outer diameter, 50 mm",
        "measure where the band ends",
    ),
    "bathtub without length": (
        [("\nlength_mm = 30.0\n", "\n")],
        "[head.shape]",
        "head.shape.length_mm",
        "nothing",
        "needed for a bathtub",
        "measure it, or give chamber_on_bench_cc",
    ),
    "bathtub without width": (
        [("\nwidth_mm = 24.0\n", "\n")],
        "[head.shape]",
        "head.shape.width_mm",
        "nothing",
        "needed for a bathtub",
        "measure it, or give chamber_on_bench_cc",
    ),
    "bowl without mouth": (
        [(SHAPE, 'kind = "bowl"\ndepth_mm = 8.0\nfloor_diameter_mm = 20\n')],
        "[head.shape]",
        "head.shape.mouth_diameter_mm",
        "nothing",
        "needed for a bowl",
        "measure it, or give chamber_on_bench_cc",
    ),
    "bowl without floor": (
        [(SHAPE, 'kind = "bowl"\ndepth_mm = 8.0\nmouth_diameter_mm = 34\n')],
        "[head.shape]",
        "head.shape.floor_diameter_mm",
        "nothing",
        "needed for a bowl",
        "measure it, or give chamber_on_bench_cc",
    ),
    "dome without mouth": (
        [(SHAPE, 'kind = "dome"\ndepth_mm = 8.0\n')],
        "[head.shape]",
        "head.shape.mouth_diameter_mm",
        "nothing",
        "needed for a dome",
        "measure it, or give chamber_on_bench_cc",
    ),
    "corner rounder than the bathtub": (
        [("corner_radius_mm = 6.0\n\n", "corner_radius_mm = 12.5\n\n")],
        "corner_radius_mm = 12.5",
        "head.shape.corner_radius_mm",
        "12.5",
        "at most half the shorter side, 12 mm",
        "measure the corner again",
    ),
    "one squish reading": (
        [("    { clock_deg = 180, gap_mm = 1.5 },\n", "")],
        "readings = [",
        "squish.readings",
        "1 readings",
        "2 to 4 readings",
        "squeeze solder at opposite places",
    ),
    "five squish readings": (
        [("    { clock_deg = 180, gap_mm = 1.5 },\n", "    { clock_deg = 180, gap_mm = 1.5 },\n" * 4)],
        "readings = [",
        "squish.readings",
        "5 readings",
        "2 to 4 readings",
        "squeeze solder at opposite places",
    ),
    "solder of no strand": (
        [("solder_folds = 1", "solder_folds = 0")],
        "solder_folds = 0",
        "squish.solder_folds",
        "0",
        "1 (one strand) to 4",
        "count the strands",
    ),
    "solder not squeezed": (
        [("gap_mm = 1.5 }", "gap_mm = 2.0 }")],
        "gap_mm = 2.0 }",
        "squish.readings.2.gap_mm",
        "2",
        "less than the solder's own thickness, 2 mm",
        "the solder was not squeezed: use thicker solder or fold it",
    ),
    "folded solder not squeezed": (
        [("gap_mm = 1.5 }", "gap_mm = 4.1 }"), ("solder_folds = 1", "solder_folds = 2")],
        "gap_mm = 4.1 }",
        "squish.readings.2.gap_mm",
        "4.1",
        "less than the solder's own thickness, 4 mm",
        "the solder was not squeezed",
    ),
    "dome without height": (
        [("dome_height_mm = 2.5\n", "")],
        "[piston]",
        "piston.dome_height_mm",
        "nothing",
        "needed for a dome crown",
        "measure it",
    ),
    "deflector without volume": (
        [('crown = "dome"\ndome_height_mm = 2.5', 'crown = "deflector"')],
        "[piston]",
        "piston.deflector_volume_cc",
        "nothing",
        "needed for a deflector crown",
        "measure it",
    ),
    "dome height of a flat crown": (
        [('crown = "dome"', 'crown = "flat"')],
        "dome_height_mm = 2.5",
        "piston.dome_height_mm",
        "2.5",
        'only with crown = "dome"',
        'set crown = "dome" or take it out',
    ),
    "deflector volume of a domed crown": (
        [("dome_height_mm = 2.5", "dome_height_mm = 2.5\ndeflector_volume_cc = 3")],
        "deflector_volume_cc = 3",
        "piston.deflector_volume_cc",
        "3",
        'only with crown = "deflector"',
        'set crown = "deflector" or take it out',
    ),
    "dome taller than a half sphere": (
        [("dome_height_mm = 2.5", "dome_height_mm = 25.1")],
        "dome_height_mm = 25.1",
        "piston.dome_height_mm",
        "25.1",
        "at most half the bore, 25 mm",
        "a taller dome is no part of a sphere",
    ),
    "window upside down": (
        [("bottom_from_crown_mm = 40.0", "bottom_from_crown_mm = 30")],
        "bottom_from_crown_mm = 30",
        "piston.openings.boost window.bottom_from_crown_mm",
        "30",
        "more than its top, 30 mm",
        "both are measured down from the crown",
    ),
    "raw wheel without stop": (
        [("stop_turning_back_deg = 46.0\n", "")],
        "[degree_wheel]",
        "degree_wheel",
        "raw readings without both piston-stop readings",
        "stop_turning_forwards_deg and stop_turning_back_deg",
        "fit a piston stop by hand",
    ),
    "reed without block": (
        [(PISTON_PORT, 'control = "reed"')],
        "[intake]",
        "intake.reed",
        "nothing",
        'intake.reed goes with control = "reed"',
        "add the part that is missing or change `control`",
    ),
    "block without reed": (
        [(PISTON_PORT, f"{PISTON_PORT}\n{REED}")],
        "reed = {",
        "intake.reed",
        "given",
        'intake.reed goes with control = "reed"',
        "add the part that is missing or change `control`",
    ),
    "rotary disc without disc": (
        [(PISTON_PORT, 'control = "rotary disc"')],
        "[intake]",
        "intake.disc",
        "nothing",
        'intake.disc goes with control = "rotary disc"',
        "add the part that is missing or change `control`",
    ),
    "reed without petals": (
        [(PISTON_PORT, f'control = "reed"\n{REED.replace("petals = 4", "petals = 0")}')],
        "reed = {",
        "intake.reed.petals",
        "0",
        "1 to 100",
        "count the petals",
    ),
    "inlet over the crank's centre": (
        [(PISTON_PORT, f'control = "rotary disc"\n{DISC.replace("radius_mm = 36", "radius_mm = 13")}')],
        "disc = {",
        "intake.disc.inlet_diameter_mm",
        "26",
        "less than twice its centre radius, 26 mm",
        "the inlet cannot reach over the crank's centre",
    ),
    "piston port without port": (
        [('role = "intake"', 'role = "blind"')],
        PISTON_PORT,
        "intake.control",
        '"piston port"',
        'at least one port with role = "intake"',
        "add the intake port under [[ports]]",
    ),
    "piston port without skirt": (
        [("skirt_intake_side_mm = 52.0\n", "")],
        "[piston]",
        "piston.skirt_intake_side_mm",
        "nothing",
        "needed where the skirt opens the intake",
        "measure from the crown's edge to the bottom of the skirt",
    ),
    "pipe of nothing": (
        [
            ('[[exhaust.sections]]\nname = "header"\nlength_mm = 240\nstart_mm = 34\nend_mm = 38\n', "[exhaust]"),
            ('[[exhaust.sections]]\nname = "diffuser"\nlength_mm = 255\nstart_mm = 38\nend_mm = 82\n', "sections = []"),
        ],
        "sections = []",
        "exhaust.sections",
        "empty",
        "at least one section",
        "list the pipe from the port face outwards",
    ),
    "two sections of one name": (
        [('name = "diffuser"', 'name = "header" # again')],
        "# again",
        "exhaust.sections.header.name",
        '"header"',
        "a name of its own, without dots",
        "tell them apart",
    ),
    "section named like the number of another": (
        [('name = "diffuser"\n', ""), ('name = "header"', 'name = "2"')],
        "[[exhaust.sections]]\nlength_mm = 255",
        "exhaust.sections.2.name",
        '"2"',
        "a name of its own, without dots",
        "tell them apart",
    ),
    "dot in the name of a section": (
        [('name = "manifold"', 'name = "mani.fold"')],
        'name = "mani.fold"',
        "intake.tract.mani.fold.name",
        '"mani.fold"',
        "a name of its own, without dots",
        "tell them apart",
    ),
    "dot in the name of an opening": (
        [('name = "boost window"', 'name = "window no. 1"')],
        'name = "window no. 1"',
        "piston.openings.window no. 1.name",
        '"window no. 1"',
        "a name of its own, without dots",
        "tell them apart",
    ),
    "two ports of one name": (
        [('name = "boost"', 'name = "transfer" # again')],
        "# again",
        "ports.transfer.name",
        '"transfer"',
        "a name of its own, without dots",
        "tell the ports apart",
    ),
    "port without name": (
        [('name = "boost"', 'name = ""')],
        'name = ""',
        "ports.3.name",
        '""',
        "a name of its own, without dots",
        "tell the ports apart",
    ),
    "dot in the name of a port": (
        [('name = "boost"', 'name = "port 2.1"')],
        'name = "port 2.1"',
        "ports.port 2.1.name",
        '"port 2.1"',
        "a name of its own, without dots",
        "tell the ports apart",
    ),
    "chord as wide as the bore": (
        [("width_chord_mm = 32.0", "width_chord_mm = 50")],
        "width_chord_mm = 50",
        "ports.exhaust.width_chord_mm",
        "50",
        "less than the bore, 50 mm",
        "a chord is straight across",
    ),
    "arc half way round": (
        [("width_arc_mm = 18.0", "width_arc_mm = 78.6")],
        "width_arc_mm = 78.6",
        "ports.transfer.width_arc_mm",
        "78.6",
        "less than half way round the bore, 78.5 mm",
        "enter each opening as a port of its own",
    ),
    "no width": (
        [("width_arc_mm = 18.0\n", "")],
        '[[ports]]\nname = "transfer"',
        "ports.transfer",
        "no width",
        "width_chord_mm, width_arc_mm or outline_mm",
        "measure the widest place",
    ),
    "outline of two points": (
        [("    [5, 50.6],\n    [-5, 50.6],\n", ""), ("[6, 38.0]", "[6, 48.0]")],
        "outline_mm = [",
        "ports.boost.outline_mm",
        "2 points",
        "3 or more points",
        "take more points off the rubbing",
    ),
    "outline beyond half the bore": (
        [("    [-6, 38.0],", "    [-78.6, 38.0],")],
        "[-78.6, 38.0]",
        "ports.boost.outline_mm.1",
        "[-78.6, 38]",
        "[-78.5 to 78.5 mm across, 0 to 300 mm from the deck]",
        "across counts from the port's middle",
    ),
    "outline above the barrel": (
        [("    [-6, 38.0],", "    [-6, 300.1],")],
        "[-6, 300.1]",
        "ports.boost.outline_mm.1",
        "[-6, 300.1]",
        "[-78.5 to 78.5 mm across, 0 to 300 mm from the deck]",
        "across counts from the port's middle",
    ),
    "outline of any blur": (
        [("outline_plus_minus_mm = 0.3", "outline_plus_minus_mm = -0.3")],
        "outline_plus_minus_mm = -0.3",
        "ports.boost.outline_plus_minus_mm",
        "-0.3",
        "0 to 5 mm",
        "how far the outline may be off",
    ),
    "bridge as wide as its port": (
        [("bridge_mm = 2.0", "bridge_mm = 29"), ("width_chord_mm = 32.0", "width_chord_mm = 29.0")],
        "bridge_mm = 29",
        "ports.exhaust.bridge_mm",
        "29",
        "less than the port's width, 29 mm",
        "measure the bar alone",
    ),
    "no roof": (
        [("roof_from_crown_tdc_mm = 37.0\n", "")],
        '[[ports]]\nname = "transfer"',
        "ports.transfer",
        "no roof",
        "one or more of roof_from_deck_mm, roof_from_crown_tdc_mm, roof_from_crown_bdc_mm, roof_opens_deg_atdc, "
        "roof_closes_deg_atdc",
        "measure it any one of these ways",
    ),
    "no floor": (
        [("floor_from_crown_bdc_mm = 0.0\n", "")],
        '[[ports]]\nname = "transfer"',
        "ports.transfer",
        "no floor",
        "one or more of floor_from_deck_mm,",
        "measure it any one of these ways",
    ),
    "roof above the crown at top dead centre": (
        [("roof_from_deck_mm = 29.0", "roof_from_deck_mm = 0.5"), ("roof_opens_deg_atdc = 95.0\n", "")],
        "roof_from_deck_mm = 0.5",
        "ports.exhaust.roof_from_deck_mm",
        "0.5 puts the roof -0.10 mm below the crown at top dead centre: above the crown at top dead centre",
        "0 to 50.00 mm below the crown at top dead centre",
        "measure the edge and the deck clearance again",
    ),
    "roof above the crown, measured from bottom dead centre": (
        [("roof_from_crown_tdc_mm = 37.0", "roof_from_crown_bdc_mm = 50.5")],
        "roof_from_crown_bdc_mm = 50.5",
        "ports.transfer.roof_from_crown_bdc_mm",
        "50.5 puts the roof -0.50 mm below the crown at top dead centre: above the crown at top dead centre",
        "0 to 50.00 mm below the crown at top dead centre",
        "measure the edge and the deck clearance again",
    ),
    "outline above the crown at top dead centre": (
        [("    [-6, 38.0],", "    [-6, 0.2],")],
        "outline_mm = [",
        "ports.boost.outline_mm",
        "this outline puts the roof -0.40 mm below the crown at top dead centre: above the crown",
        "0 to 50.00 mm below the crown at top dead centre",
        "measure the edge and the deck clearance again",
    ),
    "roof that the crown never reaches": (
        [("roof_from_crown_tdc_mm = 37.0", "roof_from_crown_tdc_mm = 50.5"), ("bdc_mm = 0.0", "bdc_mm = -3")],
        "roof_from_crown_tdc_mm = 50.5",
        "ports.transfer.roof_from_crown_tdc_mm",
        "50.5 puts the roof 50.50 mm below the crown at top dead centre: never reached by the piston",
        "0 to 50.00 mm below the crown at top dead centre",
        "measure the edge and the deck clearance again",
    ),
    "roof that the skirt never reaches": (
        [("roof_from_deck_mm = 55.0", "roof_from_deck_mm = 102.7"), ("deck_mm = 72.0", "deck_mm = 110.0")],
        "roof_from_deck_mm = 102.7",
        "ports.intake.roof_from_deck_mm",
        "102.7 puts the roof 102.10 mm below the crown at top dead centre: never reached by the piston",
        "0 to 102.00 mm below the crown at top dead centre",
        "measure the edge and the deck clearance again",
    ),
    "floor above its roof": (
        [("floor_from_deck_mm = 72.0", "floor_from_deck_mm = 54.0")],
        "floor_from_deck_mm = 54.0",
        "ports.intake.floor_from_deck_mm",
        "54 puts the floor 1.00 mm above the roof",
        "a floor below the roof",
        "roof is the edge nearer the head",
    ),
    "floor above its roof, measured in two ways": (
        [("floor_from_crown_bdc_mm = 0.0", "floor_from_crown_bdc_mm = 14")],
        "floor_from_crown_bdc_mm = 14",
        "ports.transfer.floor_from_crown_bdc_mm",
        "14 puts the floor 1.00 mm above the roof",
        "a floor below the roof",
        "roof is the edge nearer the head",
    ),
    "corners higher than the port": (
        [("roof_corner_radius_mm = 6.0", "roof_corner_radius_mm = 10"), ("from_deck_mm = 50.6", "from_deck_mm = 43")],
        "roof_corner_radius_mm = 10",
        "ports.exhaust.roof_corner_radius_mm",
        "10 and 5",
        "radii that fit into 14.00 mm of height and 32 mm of width",
        "measure the radii on a rubbing",
    ),
    "corners wider than the port": (
        [("floor_corner_radius_mm = 5.0", "floor_corner_radius_mm = 15.3"), ("chord_mm = 32.0", "chord_mm = 30.5")],
        "roof_corner_radius_mm = 6.0",
        "ports.exhaust.roof_corner_radius_mm",
        "6 and 15.3",
        "radii that fit into 21.60 mm of height and 30.5 mm of width",
        "measure the radii on a rubbing",
    ),
    "wheel says floor first": (
        [("floor_opens_deg_atdc = 172.0", "floor_opens_deg_atdc = 90")],
        "floor_opens_deg_atdc = 90",
        "ports.exhaust.floor_opens_deg_atdc",
        "90 with the roof at 95",
        "the roof less than half a turn before the floor",
        "turn the crank the way the engine runs",
    ),
    "wheel says roof first as the port closes": (
        [("floor_opens_deg_atdc = 172.0", "floor_closes_deg_atdc = 270\nroof_closes_deg_atdc = 265")],
        "floor_closes_deg_atdc = 270",
        "ports.exhaust.floor_closes_deg_atdc",
        "270 with the roof at 265",
        "the floor less than half a turn before the roof",
        "turn the crank the way the engine runs",
    ),
    "wheel says the skirt passes the roof first": (
        [("width_chord_mm = 30.0", "width_chord_mm = 30.0\nroof_opens_deg_atdc = 280\nfloor_opens_deg_atdc = 330")],
        "floor_opens_deg_atdc = 330",
        "ports.intake.floor_opens_deg_atdc",
        "330 with the roof at 280",
        "the floor less than half a turn before the roof",
        "turn the crank the way the engine runs",
    ),
}  # fmt: skip


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
