"""The drawings are filled in with the right numbers: what each says in words is held against the record's text."""

import re

import pytest

from scribeline.engine import EngineRecord, read_record
from scribeline.geometry.work_out import WorkedOut, work_out
from scribeline.marking.drafting import texts
from scribeline.marking.shapes import Drawing
from scribeline.tasks import drawings
from scribeline.tasks.drawings import engine_drawings
from tests.examples import KART, REED, SOUND, card_of, edited

LEAST = """
scribeline_record = 1
name = "least"
speed_rpm = 6000
[crank]
stroke_mm = 50
rod_length_mm = 100
[cylinder]
bore_mm = 50
"""
DECK = "deck_clearance_at_tdc_mm = 0.5\n"
EXHAUST = """
[[ports]]
name = "exhaust"
role = "exhaust"
clock_deg = 0
roof_from_crown_tdc_mm = 28
floor_from_crown_tdc_mm = 48
width_chord_mm = 30
"""
DISC = """
[intake]
control = "rotary disc"
[intake.disc]
opens_deg_atdc = 220
closes_deg_atdc = 65
inlet_diameter_mm = 26
inlet_centre_radius_mm = 40
"""
KART_TEXT_OF_DECK_AND_PIN = (
    ("deck_clearance_at_tdc_mm = { value = 0.62, plus_minus = 0.03, with = \"depth gauge\" }\n", ""),
    ("deck_height_mm = { value = 156.66, plus_minus = 0.10, with = \"caliper\" }\n", ""),
)  # fmt: skip


def least(*more: str) -> WorkedOut:
    return work_out(read_record("".join((LEAST, *more))), draws=0)


def worked(record: EngineRecord) -> WorkedOut:
    return work_out(record, draws=0)


def names(out: WorkedOut) -> list[str]:
    return [drawing.name for drawing in engine_drawings(out)]


def words(drawing: Drawing | None) -> str:
    assert drawing is not None
    return drawing.description


def lettering(drawing: Drawing | None) -> str:
    """All lettering, one line of it behind the other."""
    assert drawing is not None
    return " ".join(text.words for text in texts(drawing))


# --- which drawings there are ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SOUND)
def test_a_full_record_gives_every_drawing_in_this_order(name: str) -> None:
    assert names(card_of(name).out) == ["bore", "dial", "section", "areas", "pipe"]


def test_a_bare_record_gives_none() -> None:
    assert names(least()) == []


def test_what_is_measured_decides_what_is_drawn() -> None:
    assert names(least(DECK)) == ["section"]
    assert names(least(EXHAUST)) == ["dial", "areas"]  # where the deck stands is not known
    assert names(least(DECK, EXHAUST)) == ["bore", "dial", "section", "areas"]
    assert names(least(DISC)) == ["dial", "areas"]


def test_a_port_whose_height_is_not_known_is_not_drawn() -> None:
    assert names(least(EXHAUST.replace("from_crown_tdc", "from_deck"))) == []


# --- the bore --------------------------------------------------------------------------------------------------------


def test_the_bore_shows_the_heights_as_they_stand_in_the_record() -> None:
    said = words(drawings.bore(card_of(KART).out))
    assert "exhaust, at 0°, roof 29.1 mm and floor 50.5 mm below the deck, opens 90.3° after TDC" in said
    assert "main transfer, at 75°, roof 37.6 mm and floor 50.6 mm" in said
    assert "main transfer, at 285°, roof 37.6 mm and floor 50.6 mm" in said  # its mirror image
    assert "intake, at 180°, roof 55.0 mm and floor 74.4 mm below the deck, opens 75.6° before TDC" in said
    assert said.count("roof ") == 6
    assert "the crown's edge stands 0.62 mm below it at top and 50.62 mm at bottom dead centre" in said
    shown = lettering(drawings.bore(card_of(KART).out))
    assert "at TDC 52.62" in shown  # 0.62 + 52.0, the skirt on the intake side
    assert "at TDC 59.62" in shown
    assert re.findall(r"ring end at (\d+)°", shown) == ["160", "200"]


def test_the_bore_of_the_reed_engine_shows_the_outline_of_the_boost_port() -> None:
    drawing = drawings.bore(card_of(REED).out)
    assert "boost, at 180°, roof 43.2 mm and floor 54.7 mm below the deck" in words(drawing)
    assert words(drawing).count("roof ") == 8


def test_without_skirts_and_pegs_none_are_shown() -> None:
    shown = lettering(drawings.bore(least(DECK, EXHAUST)))
    assert "skirt" not in shown
    assert "ring end" not in shown


# --- the dial --------------------------------------------------------------------------------------------------------


def test_the_dial_shows_when_each_group_opens_and_closes() -> None:
    said = words(drawings.timing(card_of(KART).out))
    values = card_of(KART).out.values
    for group in ("exhaust", "transfer", "intake"):
        opens, closes = (values[f"{group}_{what}_deg_atdc"].value for what in ("opens", "closes"))
        assert f"{group} opens {opens:.1f}° and closes {closes:.1f}° after top dead centre" in said
    assert f"Blowdown lasts {values['blowdown_deg'].value:.1f}°" in said
    assert "Ignition 18.0° before TDC." in said


def test_a_reed_has_no_place_on_the_dial_and_a_disc_has() -> None:
    assert "intake" not in words(drawings.timing(card_of(REED).out))
    assert "intake opens 220.0° and closes 65.0° after top dead centre" in words(drawings.timing(least(DISC)))


@pytest.mark.parametrize(
    ("rpm", "advance"), [(11000, "16.0"), (7500, "22.0"), (2000, "14.0"), (1900, None), (12600, None)]
)
def test_the_spark_comes_from_the_table_at_the_cards_speed(rpm: int, advance: str | None) -> None:
    """The table has 6000: 24 and 9000: 20, so 22 half way; it begins at 2000 and ends at 12500."""
    said = words(drawings.timing(work_out(edited(name=REED), speed_rpm=rpm, draws=0)))
    assert re.findall(r"Ignition ([\d.]+)°", said) == ([] if advance is None else [advance])


# --- the section -----------------------------------------------------------------------------------------------------


def test_the_section_says_what_it_is_drawn_from() -> None:
    said = words(drawings.section(card_of(KART).out))
    assert said.startswith(
        "Section through the engine, bore 50.00 mm, stroke 50.00 mm, rod 100.00 mm, with the crank 60.0°"
    )
    assert "the gap is 1.43 mm at the wall" in said
    assert "a head gasket of 0.70 mm" in said
    assert said.endswith("Not measured, drawn at a typical size: plug hole, chamber shape.")
    assert "with the crank 10.0°" in words(drawings.section(card_of(KART).out, crank_deg_atdc=10.0))


def test_the_section_names_all_that_nobody_measured() -> None:
    said = words(drawings.section(least(DECK)))
    typical = said.partition("drawn at a typical size: ")[2].rstrip(".").split(", ")
    assert typical == [
        "plug hole", "compression height", "skirt", "exhaust side", "skirt", "intake side", "chamber shape",
    ]  # fmt: skip
    assert "Enlarged" not in said  # no squish band was measured


def test_a_measured_chamber_is_not_called_typical() -> None:
    shape = '[head.shape]\nkind = "bowl"\ndepth_mm = 9\nmouth_diameter_mm = 34\nfloor_diameter_mm = 20\n\n[squish]'
    said = words(drawings.section(worked(edited(("[squish]", shape)))))
    assert said.endswith("drawn at a typical size: plug hole.")


def test_the_section_cuts_the_ports_that_stand_in_its_plane() -> None:
    """Exhaust at 0° and intake at 180°; transfers at 75° and 125° lie behind and in front of it."""
    assert re.findall(r"\b(?:exhaust|intake|transfer)\b", lettering(drawings.section(card_of(KART).out))) == [
        "intake",
        "exhaust",
    ]
    turned = edited(('role = "exhaust"\nclock_deg = 0', 'role = "exhaust"\nclock_deg = 350.5'))
    assert "exhaust" in lettering(drawings.section(worked(turned))).split()
    further = edited(('role = "exhaust"\nclock_deg = 0', 'role = "exhaust"\nclock_deg = 349.5'))
    assert "exhaust" not in lettering(drawings.section(worked(further))).split()


def test_without_the_deck_there_is_no_section_and_no_bore() -> None:
    out = worked(edited(*KART_TEXT_OF_DECK_AND_PIN))
    assert drawings.section(out) is None
    assert drawings.bore(out) is None


# --- areas and pipe --------------------------------------------------------------------------------------------------


def test_the_largest_open_area_is_that_of_the_port_where_the_crown_uncovers_all_of_it() -> None:
    """The exhaust's floor, 49.88 mm down, is above the crown at bottom dead centre, 50.00 mm down."""
    said = words(drawings.areas(card_of(KART).out))
    whole = card_of(KART).out.values["ports.exhaust.area_mm2"].value
    found = re.search(
        r"exhaust: opens [\d.]+° and closes [\d.]+° after top dead centre, largest open area (\d+) mm²", said
    )
    assert found is not None
    assert float(found[1]) == pytest.approx(whole, abs=0.6)
    assert re.findall(r"(\w+): opens", said) == ["exhaust", "transfer", "intake"]


def test_a_disc_has_its_curve_and_a_reed_has_none() -> None:
    """A round inlet of 26 mm, which this disc uncovers wholly: π/4 · 26² = 531 mm²."""
    assert "intake: opens 220.0° and closes 65.0° after top dead centre, largest open area 531 mm²" in words(
        drawings.areas(least(DISC))
    )
    assert "intake" not in words(drawings.areas(card_of(REED).out))


def test_the_pipe_shows_every_section() -> None:
    said = words(drawings.pipe(card_of(KART).out))
    assert "1040 mm long in all" in said
    assert "header, 240 mm long, inside diameter 34 mm to 38 mm, bent through 80°, drawn straight." in said
    assert "baffle, 195 mm long, inside diameter 82 mm to 21.5 mm." in said
    assert said.count(" mm long, ") == 5


def test_a_section_without_a_name_is_numbered() -> None:
    said = words(drawings.pipe(worked(edited(('name = "diffuser"\n', "")))))
    assert "section 2, 255 mm long" in said


# --- in inches --------------------------------------------------------------------------------------------------------


def numbers_of(drawing: Drawing) -> list[float]:
    """Every number that stands on a drawing, but crank angles and scales."""
    said = (one.words.replace("Ø", " ") for one in texts(drawing) if "°" not in one.words and "(1:" not in one.words)
    return [float(one) for words in said for one in re.findall(r"(?<![\w.:])[+-]?\d+(?:\.\d+)?(?![\w.:])", words)]


@pytest.mark.parametrize("draw", [drawings.section, drawings.pipe])
@pytest.mark.parametrize("name", [KART, REED])
def test_every_length_on_a_drawing_is_the_one_in_mm_over_25_4(draw: object, name: str) -> None:
    """The inch is 25.4 mm exactly (yard-and-pound-1959); a number may be off by half its last digit in each unit."""
    out = card_of(name).out
    in_mm, in_inches = draw(out), draw(out, units="inch")  # type: ignore[operator]
    first, second = numbers_of(in_mm), numbers_of(in_inches)
    assert len(first) == len(second) > 5
    assert second == pytest.approx([one / 25.4 for one in first], abs=0.0008)
    assert [group.role for group in in_mm.groups] == [group.role for group in in_inches.groups]


@pytest.mark.parametrize("name", SOUND)
def test_no_drawing_in_inches_says_mm_but_of_areas(name: str) -> None:
    for drawing in engine_drawings(card_of(name).out, "inch"):
        said = " ".join([drawing.description, *(one.words for one in texts(drawing))])
        assert not re.findall(r"[\d.]+ mm(?!²)|\bin mm\b", said)
