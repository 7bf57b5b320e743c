"""Curves of open area of whole engines, against the outline cut with shapely and against the card's own integrals."""

from math import asin, cos, pi, sin, sqrt

import numpy as np
import pytest
from shapely import Polygon, box
from shapely.affinity import translate

from scribeline.engine import Port, read_record
from scribeline.geometry.open_areas import open_area_curves, port_open_area
from scribeline.geometry.work_out import WorkedOut, work_out
from tests.examples import KART, REED, SOUND, card_of, edited

THETA = np.arange(0.0, 360.0, 0.25)
DISC = """
scribeline_record = 1
name = "disc"
speed_rpm = 6000
[crank]
stroke_mm = 50
rod_length_mm = 100
[cylinder]
bore_mm = 50
[intake]
control = "rotary disc"
[intake.disc]
opens_deg_atdc = 220
closes_deg_atdc = 65
inlet_diameter_mm = 26
inlet_centre_radius_mm = 40
"""


def out_of(name: str) -> WorkedOut:
    return card_of(name).out


def piston_depth_mm(theta_deg: float, stroke: float, rod: float, offset: float) -> float:
    """Slider-crank, theta after true top dead centre."""
    throw = stroke / 2
    phi = asin(offset / (rod + throw)) + theta_deg * pi / 180
    return sqrt((rod + throw) ** 2 - offset**2) - throw * cos(phi) - sqrt(rod**2 - (throw * sin(phi) - offset) ** 2)


def straight_on(outline: Polygon, bore_mm: float) -> Polygon:
    """An outline on the unrolled bore as it is seen straight on: across becomes B/2 · sin(2 x / B)."""
    ring = outline.segmentize(0.05).exterior.coords
    return Polygon([(bore_mm / 2 * sin(2 * x / bore_mm), y) for x, y in ring])


def rounded(width: float, height: float, radius_up: float, radius_down: float) -> Polygon:
    """A rectangle from depth 0 to `height` with round corners, depths counted downwards."""
    corners = []
    for x, y, radius in (
        (-width / 2, 0.0, radius_up),
        (width / 2, 0.0, radius_up),
        (width / 2, height, radius_down),
        (-width / 2, height, radius_down),
    ):
        centre = (x - radius * np.sign(x), y + radius if y == 0.0 else y - radius)
        start = {(-1, 0): pi, (1, 0): 1.5 * pi, (1, 1): 0.0, (-1, 1): 0.5 * pi}[int(np.sign(x)), int(y > 0)]
        turn = start + np.linspace(0.0, pi / 2, 200)
        corners += [(centre[0] + radius * cos(a), centre[1] + radius * sin(a)) for a in turn]
    return Polygon(corners)


def port_of(out: WorkedOut, name: str) -> Port:
    return next(port for port in out.record.ports if port.name == name)


# Readings as they stand in the records: (engine, port, outline, depth of the roof below the crown, mm)
KART_CRANK, KART_BORE = (50.0, 100.0, 0.5), 50.0
REED_CRANK, REED_BORE = (54.5, 108.0, 0.0), 54.0
BOOST = [
    (-8.5, 43.2), (8.5, 43.2), (9.7, 43.7), (10.2, 44.9), (8.8, 53.0), (8.1, 54.3), (6.8, 54.7), (-6.8, 54.7),
    (-8.1, 54.3), (-8.8, 53.0), (-10.2, 44.9), (-9.7, 43.7),
]  # fmt: skip


def arc_mm(chord: float, bore: float) -> float:
    return bore * asin(chord / bore)


@pytest.mark.parametrize("theta", [80.0, 95.0, 120.0, 150.0, 180.0, 240.0, 268.0])
def test_the_exhaust_below_the_crown(theta: float) -> None:
    """Roof 29.1 - 0.62 mm below the crown at top dead centre; the crown's chamfer lets gas past 0.2 mm earlier."""
    window = translate(rounded(arc_mm(32.0, KART_BORE), 50.5 - 29.1, 7.0, 6.0), yoff=29.1 - 0.62)
    open_below = box(-99, -99, 99, piston_depth_mm(theta, *KART_CRANK) + 0.2)
    expected = straight_on(window.intersection(open_below), KART_BORE).area if window.intersects(open_below) else 0.0
    got = port_open_area(out_of(KART), port_of(out_of(KART), "exhaust"), np.array([theta]))
    assert got == pytest.approx([expected], abs=0.02)
    assert (expected > 0) is (theta not in (80.0,))


@pytest.mark.parametrize("theta", [0.0, 20.0, 50.0, 74.0, 90.0, 290.0, 340.0])
def test_the_intake_below_the_skirt(theta: float) -> None:
    """The skirt's bottom is 52.0 mm below the crown; the intake's roof 55.0 - 0.62 mm below it at top dead centre."""
    window = translate(rounded(arc_mm(30.0, KART_BORE), 74.4 - 55.0, 5.0, 5.0), yoff=55.0 - 0.62)
    under_skirt = box(-99, piston_depth_mm(theta, *KART_CRANK) + 52.0, 99, 999)
    expected = straight_on(window.intersection(under_skirt), KART_BORE).area if window.intersects(under_skirt) else 0.0
    got = port_open_area(out_of(KART), port_of(out_of(KART), "intake"), np.array([theta]))
    assert got == pytest.approx([expected], abs=0.02)
    assert (expected > 0) is (theta != 90.0)


@pytest.mark.parametrize("theta", [110.0, 125.0, 150.0, 185.0])
def test_a_traced_outline_below_the_crown(theta: float) -> None:
    window = translate(Polygon(BOOST), yoff=-0.35)
    open_below = box(-99, -99, 99, piston_depth_mm(theta, *REED_CRANK))
    expected = straight_on(window.intersection(open_below), REED_BORE).area if window.intersects(open_below) else 0.0
    got = port_open_area(out_of(REED), port_of(out_of(REED), "boost"), np.array([theta]))
    assert got == pytest.approx([expected], abs=0.02)
    assert (expected > 0) is (theta != 110.0)


@pytest.mark.parametrize("name", SOUND)
def test_the_area_under_a_curve_is_the_cards_angle_area(name: str) -> None:
    out = out_of(name)
    curves = open_area_curves(out, THETA)
    assert list(curves) == (["exhaust", "transfer", "intake"] if name == KART else ["exhaust", "transfer"])
    for group, curve in curves.items():
        assert curve.sum() * 0.25 == pytest.approx(out.value(f"{group}_angle_area_mm2_deg"), rel=1e-4)


@pytest.mark.parametrize("name", SOUND)
def test_a_curve_is_open_from_opening_to_closing_and_shut_elsewhere(name: str) -> None:
    out = out_of(name)
    for group, curve in open_area_curves(out, THETA).items():
        opens, closes = (out.value(f"{group}_{what}_deg_atdc") for what in ("opens", "closes"))
        assert opens is not None
        assert closes is not None
        since = (THETA - opens) % 360.0
        duration = (closes - opens) % 360.0
        inside = (since > 0.5) & (since < duration - 0.5)
        outside = (since > duration + 0.01) & (since < 359.99)
        assert (curve[inside] > 0).all()
        assert (curve[outside] == 0).all()


def test_a_mirrored_pair_counts_twice_and_ports_of_a_group_together() -> None:
    out = out_of(KART)
    main, rear = (port_open_area(out, port_of(out, name), THETA) for name in ("main transfer", "rear transfer"))
    assert open_area_curves(out, THETA)["transfer"] == pytest.approx(2 * main + 2 * rear)
    single = work_out(edited(("clock_deg = 75\nmirrored = true", "clock_deg = 75")), draws=0)
    assert open_area_curves(single, THETA)["transfer"] == pytest.approx(main + 2 * rear)


def test_draws_do_not_change_the_curve() -> None:
    plain = open_area_curves(work_out(edited(), draws=0), THETA)
    for group, curve in open_area_curves(out_of(KART), THETA).items():
        assert curve.shape == THETA.shape
        np.testing.assert_array_equal(curve, plain[group])


def test_a_disc_uncovers_its_inlet() -> None:
    out = work_out(read_record(DISC), draws=0)
    curve = open_area_curves(out, THETA)["intake"]
    assert curve.max() == pytest.approx(pi / 4 * 26**2)
    assert (curve[(THETA > 65.01) & (THETA < 219.99)] == 0).all()
    assert (curve[(THETA > 221) | (THETA < 64)] > 0).all()
    assert curve.sum() * 0.25 == pytest.approx(out.value("intake_angle_area_mm2_deg"), rel=1e-4)


def test_a_bare_record_has_no_curve() -> None:
    bare = DISC.partition("[intake]")[0]
    assert open_area_curves(work_out(read_record(bare), draws=0), THETA) == {}
