"""Port edges moved: by closed forms, by areas that shapely works out, and never with metal put back."""

from math import asin, sin

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from scribeline.geometry.work_out import work_out
from scribeline.plan.edges import edge_depths_mm, edge_moved, swept, widened
from tests.plan.engines import KART, REED, duration_deg, edited, one, value, window

BOOST = ((-8.5, 43.2), (8.5, 43.2), (10.2, 44.9), (8.8, 53.0), (6.8, 54.7), (-6.8, 54.7), (-8.8, 53.0), (-10.2, 44.9))


def test_a_raised_roof_is_as_long_open_as_the_triangle_says() -> None:
    """Roof 29.1 - 1.2 from the deck, 0.62 of it above the crown, 0.2 of chamfer: the crown passes at 27.08 mm."""
    after = one("raise exhaust roof at exhaust: 1.2 mm")
    assert value(after, "exhaust_duration_deg") == pytest.approx(duration_deg(27.08, 50.0, 100.0, 0.5), abs=1e-9)


@pytest.mark.parametrize("name", [KART, REED])
def test_two_ways_of_measuring_an_edge_go_on_agreeing_as_they_did(name: str) -> None:
    before = edited(name=name)
    after = one("raise transfer roof at all transfers: 0.8", one("raise exhaust roof at exhaust: 1.3", before))
    differ = [[a.difference for a in work_out(record, draws=0).agreements] for record in (before, after)]
    assert differ[1] == pytest.approx(differ[0], abs=1e-6)


def test_the_depths_are_those_of_the_card() -> None:
    out = work_out(edited(name=REED), draws=0)
    depths = edge_depths_mm(out.record)
    assert len(depths) == 10
    for (port, edge), depth in depths.items():
        assert depth == out.value(f"ports.{port}.{edge}_depth_mm")


@pytest.mark.parametrize(
    ("roof", "floor"),
    [
        ("roof_from_deck_mm = 29.1", "floor_from_deck_mm = 50.5"),
        ("roof_from_crown_tdc_mm = 28.48", "floor_from_crown_tdc_mm = 49.88"),
        ("roof_from_crown_bdc_mm = 21.52", "floor_from_crown_bdc_mm = 0.12"),
        ("roof_opens_deg_atdc = 92.5\nroof_closes_deg_atdc = 271.5", "floor_opens_deg_atdc = 165"),
    ],
)
def test_an_edge_moves_by_as_much_however_it_was_measured(roof: str, floor: str) -> None:
    record = edited(
        (
            "roof_opens_deg_atdc = 92.5      # raw wheel readings, corrected by the piston stop above\n"
            "roof_closes_deg_atdc = 271.5\n",
            "",
        ),
        ('roof_from_deck_mm = { value = 29.1, plus_minus = 0.10, with = "caliper in the bore" }', roof),
        ("floor_from_deck_mm = 50.5", floor),
    )
    after = one("lower exhaust floor at exhaust: 0.4 mm", one("raise exhaust roof at exhaust: 1.1 mm", record))
    before_mm, after_mm = edge_depths_mm(record), edge_depths_mm(after)
    assert after_mm["exhaust", "roof"] == pytest.approx(before_mm["exhaust", "roof"] - 1.1, abs=1e-9)
    assert after_mm["exhaust", "floor"] == pytest.approx(before_mm["exhaust", "floor"] + 0.4, abs=1e-9)


def test_a_lowered_intake_floor_opens_by_the_skirt() -> None:
    """Floor 74.4 + 1 from the deck, less 0.62 and the skirt of 52: the skirt leaves it at 22.78 mm of travel."""
    after = one("lower intake floor at intake: 1 mm")
    open_for = 360.0 - duration_deg(22.78, 50.0, 100.0, 0.5)
    assert value(after, "intake_duration_deg") == pytest.approx(open_for, abs=1e-9)


def test_a_wider_port_by_chord_and_by_arc() -> None:
    """32 + 2 mm across a bore of 50 are 50 · asin(34/50) along it; measured along it, it comes to the same."""
    by_chord = one("widen exhaust at exhaust: 2 mm")
    assert value(by_chord, "ports.exhaust.arc_mm") == pytest.approx(50.0 * asin(0.68), abs=1e-9)
    arc = 50.0 * asin(0.64)
    record = edited(("width_chord_mm = 32.0", f"width_arc_mm = {arc}"))
    assert value(one("widen exhaust at exhaust: 2 mm", record), "ports.exhaust.chord_mm") == pytest.approx(34.0)


def test_a_wheel_reading_of_an_edge_below_bottom_dead_centre_is_dropped() -> None:
    """The floor at 172° atdc lies 49.7 mm down; 2 mm lower no crown meets it: the reading ends, the height goes on."""
    record = edited(("floor_from_deck_mm = 50.5", "floor_from_deck_mm = 50.5\nfloor_opens_deg_atdc = 172.0"))
    after = one("lower exhaust floor at exhaust: 2 mm", record)
    port = after.ports[0]
    assert port.floor_opens_deg_atdc is None
    assert port.floor_from_deck_mm is not None
    assert port.floor_from_deck_mm.value == pytest.approx(52.5)


@given(right=st.floats(-6.0, 6.0), down=st.floats(-6.0, 6.0))
def test_a_swept_outline_holds_the_old_one_and_the_moved_one(right: float, down: float) -> None:
    new = Polygon(swept(BOOST, right, down))
    moved = Polygon([(x + right, y + down) for x, y in BOOST])
    for old in (Polygon(BOOST), moved):
        assert old.difference(new.buffer(1e-9)).area == pytest.approx(0.0, abs=1e-9)


def test_a_convex_outline_grows_by_its_width_times_the_way() -> None:
    """Minkowski: a convex body swept by a vector grows by |vector| times its width across it; 20.4 mm here."""
    grown = Polygon(swept(BOOST, 0.0, -1.5)).area - Polygon(BOOST).area
    assert grown == pytest.approx(1.5 * 20.4, rel=1e-12)


def test_an_outline_gets_wider_by_what_was_asked_for() -> None:
    record = edited(name=REED)
    boost = next(port for port in record.ports if port.name == "boost")
    wider = widened(record, boost, 1.0)
    across = [x for x, _ in wider.outline_mm]
    assert max(across) - min(across) == pytest.approx(54.0 * asin(sin(20.4 / 54.0) + 1.0 / 54.0))
    assert max(across) == pytest.approx(-min(across))  # its middle stays


@settings(max_examples=30, deadline=None)
@given(
    up=st.floats(0.0, 4.0), down=st.floats(0.0, 3.0), wide=st.floats(0.0, 6.0), square=st.floats(0.0, 2.0),
    deck=st.floats(0.0, 0.6),
)  # fmt: skip
def test_no_cut_puts_metal_back(up: float, down: float, wide: float, square: float, deck: float) -> None:
    """Every window of the bore, seen from the barrel's foot, holds the one that was there before."""
    record = edited()
    after = one(f"deck barrel top: {deck:.6f} mm", record)
    for step in (
        f"raise exhaust roof at exhaust: {up:.6f} mm",
        f"lower exhaust floor at exhaust: {down:.6f} mm",
        f"widen exhaust at exhaust: {wide:.6f} mm",
        f"square exhaust floor corners at exhaust: {square:.6f} mm",
        f"raise transfer roof at all transfers: {up:.6f} mm",
        f"lower intake floor at intake: {down:.6f} mm",
        f"widen intake at intake: {wide:.6f} mm",
    ):
        after = one(step, after)
    off = round(deck, 6)
    for old, new in zip(record.ports, after.ports, strict=True):
        back = window(record, old).difference(window(after, new, off).buffer(2e-3)).area
        assert back == pytest.approx(0.0, abs=1e-9), old.name


def test_nothing_off_is_the_same_port() -> None:
    record = edited(name=REED)
    for port in record.ports:
        assert edge_moved(record, port, "roof", 0.0) == port
