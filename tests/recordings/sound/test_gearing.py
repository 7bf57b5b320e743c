"""Road speed and clutch slip against figures worked out by hand."""

import pytest

from scribeline.recordings import Channel
from scribeline.recordings.sound.gearing import clutch_slip, geared_speed


def test_road_speed_through_the_gearing() -> None:
    """Tyre 852 mm, 5.9 to 1, 9,500 rpm: 9500/60 * 0.852/5.9 = 22.864 m/s = 82.31 km/h; the +/- follows the rpm's."""
    road = geared_speed(Channel([0.0], [9500.0], "rpm", [95.0], [0.97]), 0.852 / 5.9)
    assert road.values == pytest.approx([22.8644])
    assert road.plus_minus == pytest.approx([0.228644], rel=1e-5)
    assert road.confidence == pytest.approx([0.97])


def test_slip_of_a_clutch_that_takes_hold() -> None:
    """6,000 rpm at 0.15 m a turn is 15 m/s; the road goes from 0 to 15 m/s in 2 s: slip 1, 0.5, 0."""
    rpm = Channel([0.0, 1.0, 2.0], [6000.0] * 3, "rpm", [60.0] * 3)
    slip = clutch_slip(rpm, Channel([0.0, 1.0, 2.0], [0.0, 7.5, 15.0], "m/s", [0.15] * 3), 0.15)
    assert slip.values == pytest.approx([1.0, 0.5, 0.0])
    assert slip.plus_minus == pytest.approx([0.01, (0.005**2 + 0.01**2) ** 0.5, (2 * 0.01**2) ** 0.5])


def test_slip_is_left_out_where_the_speed_has_a_gap() -> None:
    rpm = Channel([0.0, 1.0, 5.0, 9.0, 10.0, 11.0], [6000.0] * 6, "rpm")
    speed = Channel([0.5, 1.5, 8.5, 9.5], [15.0] * 4, "m/s")
    assert clutch_slip(rpm, speed, 0.15).time_s.tolist() == [1.0, 9.0]
