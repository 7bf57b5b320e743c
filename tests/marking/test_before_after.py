"""Before and after on one drawing: what is broken lies where the engine is, what is full where it shall be."""

from dataclasses import replace

import pytest

from scribeline.marking.area_plot import HEIGHT_MM, AreaCurve
from scribeline.marking.before_after import (
    areas_before_after,
    bore_before_after,
    dial_before_after,
    section_before_after,
)
from scribeline.marking.dial_view import Window
from scribeline.marking.drafting import texts
from scribeline.marking.section_view import Section, WallOpening
from scribeline.marking.shapes import Drawing
from scribeline.marking.squish_detail import SquishBand
from scribeline.marking.svg import write_svg
from tests.marking.demonstrations import KART_BORE, KART_DIAL, KART_EXHAUST
from tests.marking.svg_reading import Picture
from tests.marking.test_dial_view import band

BAND = SquishBand(1.43, 34.0, 50.0, 9.0, 8.0)
SECTION = Section(50.0, 50.0, 100.0, 31.0, 59.0, 52.0, 0.62, 0.7, 12.0, band=BAND,
                  openings=(WallOpening("exhaust", "exhaust", 29.1, 50.5),))  # fmt: skip
AREAS = (
    AreaCurve("exhaust", "exhaust", [0.0, 90.0, 180.0, 270.0], [0.0, 0.0, 640.0, 0.0], 90.0, 270.0),
    AreaCurve("transfer", "transfer", [0.0, 90.0, 180.0, 270.0], [0.0, 0.0, 720.0, 0.0], 110.0, 250.0),
)


def words(drawing: Drawing) -> list[str]:
    return [one.words for one in texts(drawing)]


@pytest.mark.parametrize(
    "drawing",
    [
        bore_before_after(KART_BORE, KART_BORE),
        dial_before_after(KART_DIAL, KART_DIAL),
        section_before_after(SECTION, SECTION),
        areas_before_after(AREAS, AREAS),
    ],
    ids=lambda drawing: drawing.name,
)
def test_what_stays_is_drawn_once(drawing: Drawing) -> None:
    assert [one for one in drawing.groups if one.role in ("today", "target")] == []
    assert "Nothing drawn here changes." in drawing.description


def test_a_raised_roof_over_the_roof_as_it_is_seen_from_the_new_deck() -> None:
    """0.35 mm off the deck and 0.8 mm off the roof: 29.1 - 0.35 = 28.75 broken, 29.1 - 0.35 - 0.8 = 27.95 full."""
    ports = tuple(
        replace(port, roof_depth_mm=port.roof_depth_mm - 0.35, floor_depth_mm=port.floor_depth_mm - 0.35)
        for port in KART_BORE.ports
    )
    raised = replace(ports[0], roof_depth_mm=27.95, opens_deg_atdc=87.0)
    after = replace(KART_BORE, ports=(raised, *ports[1:]), crown_at_tdc_mm=0.27, crown_at_bdc_mm=50.28)
    drawing = bore_before_after(KART_BORE, after, lowered_mm=0.35)
    read = Picture(write_svg(drawing))
    assert read.strokes(read.group_about("exhaust, at 0°"))[0].box[1] == pytest.approx(28.75, abs=1e-3)
    assert read.strokes(read.group_about("planned: exhaust"))[0].box[1] == pytest.approx(27.95, abs=1e-3)
    assert len(read.groups("target")) == 1  # the other ports go with the deck, and are drawn once
    (deck,) = read.strokes(read.group_about("the deck as it is"))
    assert deck.box[1] == pytest.approx(-0.35, abs=1e-3)  # y points down from the new deck
    assert not [one for one in drawing.groups if "crown's edge at top dead centre, as it is" in one.about]
    assert "roof 28.8 to 27.9" in words(drawing)
    assert "then 87.0°" in words(drawing)
    assert "exhaust: roof from 28.75 to 27.95 mm" in drawing.description.replace("Exhaust", "exhaust")


def test_a_new_port_is_drawn_and_named() -> None:
    side = replace(KART_EXHAUST, name="side exhaust", clock_deg=55.0, width_arc_mm=6.0, mirrored=True)
    drawing = bore_before_after(KART_BORE, replace(KART_BORE, ports=(*KART_BORE.ports, side)))
    assert sum(one.role == "target" for one in drawing.groups) == 2
    assert words(drawing).count("side exhaust") == 2
    assert "New: side exhaust" in drawing.description


def test_a_barrel_that_comes_down_moves_the_crown_past_it() -> None:
    drawing = bore_before_after(KART_BORE, replace(KART_BORE, crown_at_tdc_mm=0.32, crown_at_bdc_mm=50.33))
    read = Picture(write_svg(drawing))
    for which, depth in (("top", 0.62), ("bottom", 50.63)):
        (edge,) = read.strokes(read.group_about(f"the crown's edge at {which} dead centre, as it is"))
        assert edge.box[1] == pytest.approx(depth, abs=1e-3)


def test_a_longer_window_over_the_window_as_it_is() -> None:
    exhaust = KART_DIAL.windows[0]
    longer = Window(exhaust.name, exhaust.kind, exhaust.opens_deg_atdc - 3.0, exhaust.closes_deg_atdc + 3.0)
    drawing = dial_before_after(KART_DIAL, replace(KART_DIAL, windows=(longer, *KART_DIAL.windows[1:])))
    read = Picture(write_svg(drawing))
    opens, closes, *_ = band(read, f"as it is: {exhaust.name} opens")
    assert (opens, closes) == pytest.approx((exhaust.opens_deg_atdc, exhaust.closes_deg_atdc), abs=0.01)
    assert band(read, f"{exhaust.name} opens")[0] == pytest.approx(exhaust.opens_deg_atdc - 3.0, abs=0.01)
    assert len(read.groups("today")) == 1
    assert f"was {exhaust.opens_deg_atdc:.1f}°" in words(drawing)


def test_a_narrower_squish_is_drawn_to_the_scale_of_its_detail() -> None:
    """0.6 mm narrower: the broken band lies 0.6 mm higher over the full one, five times enlarged."""
    after = replace(SECTION, band=replace(BAND, gap_mm=0.83), deck_clearance_mm=0.27, head_gasket_mm=0.45)
    drawing = section_before_after(SECTION, after)
    detail = next(one for one in drawing.groups if one.about.startswith("band and deck as they are"))
    deck, head = (shape.points for shape in detail.shapes)  # type: ignore[union-attr]
    outlines = [s for one in drawing.groups if one.role == "outline" for s in one.shapes]
    full = max((s.points for s in outlines if hasattr(s, "points")), key=lambda points: points[0][0])
    assert head[2][1] - head[1][1] == pytest.approx(5.0 * (1.43 - (0.62 + 0.7)), abs=1e-6)
    corner_y = deck[0][1] - 5.0 * 0.62
    assert head[2][1] == pytest.approx(corner_y + 5.0 * 1.43)
    assert full
    assert "from 1.43 to 0.83 mm" in drawing.description


def test_a_shorter_skirt_and_a_moved_port_are_broken_where_they_are() -> None:
    after = replace(SECTION, skirt_intake_side_mm=50.0,
                    openings=(WallOpening("exhaust", "exhaust", 28.1, 50.5),))  # fmt: skip
    drawing = section_before_after(SECTION, after)
    about = {one.about for one in drawing.groups if one.role == "today"}
    assert about == {"ports as they are", "the skirt as it is"}
    cut = next(one for one in drawing.groups if one.about == "ports as they are").shapes[0]
    heights = {round(y / drawing.scale, 6) for _, y in cut.points}  # type: ignore[union-attr]
    assert heights == {round(SECTION.deck_mm - 29.1, 6), round(SECTION.deck_mm - 50.5, 6)}


def test_an_area_curve_that_grows_lies_over_the_thin_one_of_today() -> None:
    """Axes up to 800 mm2: 640 stands at four fifths of the plot's height, 700 at seven eighths."""
    grown = replace(AREAS[0], area_mm2=[0.0, 20.0, 700.0, 20.0], opens_deg_atdc=86.0, closes_deg_atdc=274.0)
    drawing = areas_before_after(AREAS, (grown, AREAS[1]))
    read = Picture(write_svg(drawing))
    assert len(read.groups("today")) == 1  # the transfers stay
    (was,) = read.strokes(read.group_about("exhaust as it is"))
    now = read.strokes(read.group_about("exhaust: opens 86.0°"))[0]
    bottom = was.box[3]
    assert bottom - was.box[1] == pytest.approx(0.8 * HEIGHT_MM, abs=0.01)
    assert bottom - now.box[1] == pytest.approx(0.875 * HEIGHT_MM, abs=0.01)
    assert "Exhaust: largest open area from 640 to 700 mm², opens at 90.0° as it is, 86.0° after." in (
        drawing.description
    )
    assert drawing.description.startswith("Thin broken lines: as it is. Thick lines: as it shall be.")
