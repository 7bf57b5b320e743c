"""The squish band against conservation of mass in mpmath, brute-force search, and planes drawn by hand."""

import doctest
import math
from typing import Any

import mpmath as mp
import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize_scalar

from scribeline.errors import GeometryError
from scribeline.geometry import squish

CRANK = (42.0, 85.0, 0.0)
OFFSET_CRANK = (43.0, 90.0, 2.5)
FLAT = (47.0, 47.0, 30.0, 0.8, 0.0, 7.4)  # bore, outer, inner, gap, angle, clearance
CONICAL = (54.0, 53.0, 36.0, 0.6, 3.0, 9.2)
CLOSING = (54.0, 54.0, 30.0, 1.5, -2.0, 9.2)
GAS = (54.0, 400.0, 1.33, 290.0)  # trapped cc, K, gamma, J/(kg K)


def test_examples_in_the_docstrings() -> None:
    assert doctest.testmod(squish).failed == 0


# --- an independent model of the same engine, in mpmath -----------------------------------------------------------


def depth_m(theta: Any, crank: tuple[float, float, float]) -> Any:
    """Depth from the height of the pin itself, to 30 digits; theta in rad after true top dead centre."""
    r, rod, e = (mp.mpf(length) / 1000 for length in (crank[0] / 2, *crank[1:]))
    top = mp.asin(e / (rod + r))
    height = lambda phi: r * mp.cos(phi) + mp.sqrt(rod**2 - (r * mp.sin(phi) - e) ** 2)  # noqa: E731
    return height(top) - height(top + theta)


def outflow_m_s(
    theta_deg: float, crank: tuple[float, float, float], rpm: float, head: tuple[float, ...], gas: Any = None
) -> Any:
    """-d(mass in the band)/dt over density and area of the ring, the band summed up ring by ring."""
    with mp.workdps(30):
        bore, outer, inner, gap, angle, clearance = (mp.mpf(number) for number in head)
        slope = mp.tan(mp.radians(angle))
        turn = 2 * mp.pi * mp.mpf(rpm) / 60

        def volumes(theta: Any) -> tuple[Any, Any]:
            x = depth_m(theta, crank) * 1000
            band = mp.quad(lambda r: (gap + x + (outer / 2 - r) * slope) * 2 * mp.pi * r, [inner / 2, outer / 2])
            return band * mp.mpf("1e-9"), (clearance * 1000 + mp.pi / 4 * bore**2 * x) * mp.mpf("1e-9")

        theta = mp.radians(mp.mpf(theta_deg))
        mass_share = lambda t: volumes(t)[0] / volumes(t)[1]  # noqa: E731
        ring = mp.pi * inner * (gap + depth_m(theta, crank) * 1000 + (outer - inner) / 2 * slope) * mp.mpf("1e-6")
        whole = volumes(theta)[1]
        uniform = -mp.diff(mass_share, theta) * turn * whole / ring
        if gas is None:
            return uniform
        trapped, kelvin, gamma, constant = (mp.mpf(number) for number in gas)
        sound2 = gamma * constant * kelvin * (trapped * mp.mpf("1e-6") / whole) ** (gamma - 1)
        thinned = lambda v: v * (1 - (gamma - 1) / 2 * v**2 / sound2) ** (1 / (gamma - 1)) - uniform  # noqa: E731
        return mp.findroot(thinned, uniform)


@pytest.mark.parametrize("head", [FLAT, CONICAL, CLOSING], ids=["flat", "conical", "closing"])
@pytest.mark.parametrize("crank", [CRANK, OFFSET_CRANK], ids=["no offset", "offset"])
@pytest.mark.parametrize("theta", [-60.0, -11.0, 352.0, 5.0])
def test_velocity_conserves_mass(theta: float, crank: tuple[float, float, float], head: tuple[float, ...]) -> None:
    expected = float(outflow_m_s(theta, crank, 9000.0, head))
    assert squish.squish_velocity_m_s(theta, *crank, 9000.0, *head) == pytest.approx(expected, rel=1e-10)
    assert (expected > 0.0) is (theta % 360.0 > 180.0)


@pytest.mark.parametrize(("theta", "rpm"), [(-11.0, 9000.0), (-11.0, 60000.0), (8.0, 60000.0), (-40.0, 150000.0)])
def test_compressible_velocity_solves_the_nozzle_relation(theta: float, rpm: float) -> None:
    """Absurd crank speeds, to see the correction at all: at 9000 rev/min it is 0.1 %."""
    expected = float(outflow_m_s(theta, OFFSET_CRANK, rpm, CONICAL, GAS))
    got = squish.squish_velocity_compressible_m_s(theta, *OFFSET_CRANK, rpm, *CONICAL, *GAS)
    assert got.velocity_m_s == pytest.approx(expected, rel=1e-9)
    assert not got.choked
    assert abs(expected) > abs(squish.squish_velocity_m_s(theta, *OFFSET_CRANK, rpm, *CONICAL))


# --- the maximum ---------------------------------------------------------------------------------------------------


def brute_force_peak(speed: Any) -> tuple[float, float]:
    """Largest value of speed(theta) on -180..0 deg and its place: 7201 samples, then a bounded search."""
    theta = np.linspace(-180.0, 0.0, 7201)
    best = theta[np.argmax(speed(theta))]
    found = minimize_scalar(
        lambda t: -float(speed(t)), bounds=(best - 0.05, best + 0.05), method="bounded", options={"xatol": 1e-9}
    )
    return -float(found.fun), -float(found.x)


shapes = st.tuples(
    st.floats(30.0, 90.0),  # bore
    st.floats(0.7, 1.4),  # stroke over bore
    st.floats(1.5, 3.5),  # rod over stroke
    st.floats(-0.1, 0.1),  # offset over stroke
    st.floats(0.4, 0.9),  # inner over bore
    st.floats(0.003, 0.15),  # gap over stroke
    st.floats(-1.0, 20.0),  # angle
    st.floats(1.05, 4.0),  # clearance over what flat gap and band alone would be
)


@settings(deadline=None, max_examples=60)
@given(shapes, st.booleans(), st.floats(1000.0, 20000.0))
def test_peak_against_brute_force(shape: tuple[float, ...], compressible: bool, rpm: float) -> None:
    bore, square, rods, offset, inside, gap_share, angle, room = shape
    stroke = bore * square
    crank = (stroke, stroke * rods, stroke * offset)
    gap, inner = gap_share * stroke, bore * inside
    rise = (bore - inner) / 2.0 * math.tan(math.radians(angle))
    assume(gap + rise > 0.05 * gap)
    clearance = room * math.pi / 4.0 * bore**2 * (gap + max(rise, 0.0)) / 1000.0
    head = (bore, bore, inner, gap, angle, clearance)
    if compressible:
        gas = (clearance * 7.0, 400.0)
        peak = squish.peak_squish_velocity_compressible_m_s(*crank, rpm, *head, *gas)
        expected = brute_force_peak(
            lambda t: squish.squish_velocity_compressible_m_s(t, *crank, rpm, *head, *gas).velocity_m_s
        )
    else:
        peak = squish.peak_squish_velocity_m_s(*crank, rpm, *head)
        expected = brute_force_peak(lambda t: squish.squish_velocity_m_s(t, *crank, rpm, *head))
    assert peak.velocity_m_s == pytest.approx(expected[0], rel=1e-9)
    assert peak.deg_before_tdc == pytest.approx(expected[1], abs=2e-3 if peak.choked else 1e-4)


@pytest.mark.parametrize(("gas", "rpm"), [(None, 9000.0), (GAS, 9000.0), (GAS, 60000.0)])
def test_peak_angle_to_ten_digits(gas: tuple[float, ...] | None, rpm: float) -> None:
    """The zero of the slope, in mpmath."""
    if gas is None:
        peak = squish.peak_squish_velocity_m_s(*OFFSET_CRANK, rpm, *CONICAL)
    else:
        peak = squish.peak_squish_velocity_compressible_m_s(*OFFSET_CRANK, rpm, *CONICAL, *gas)
    with mp.workdps(30):
        step = mp.mpf("1e-5")
        slope = lambda t: (  # noqa: E731
            outflow_m_s(t + step, OFFSET_CRANK, rpm, CONICAL, gas)
            - outflow_m_s(t - step, OFFSET_CRANK, rpm, CONICAL, gas)
        )
        around = -float(peak.deg_before_tdc)
        expected = mp.findroot(slope, (around - 1e-3, around + 1e-3), solver="secant", tol=1e-16)
    assert peak.deg_before_tdc == pytest.approx(-float(expected), rel=1e-9)


def test_a_choked_band_stays_at_the_speed_of_sound_and_says_so() -> None:
    tight = (47.0, 47.0, 20.0, 0.1, 0.0, 7.4)
    gas = (54.0, 350.0, 1.35, 287.05)
    peak = squish.peak_squish_velocity_compressible_m_s(*CRANK, 14000.0, *tight, *gas)
    assert peak.choked
    theta = np.linspace(-60.0, 0.0, 60001)
    velocity, choked = squish.squish_velocity_compressible_m_s(theta, *CRANK, 14000.0, *tight, *gas)
    assert 0.0 < choked.mean() < 1.0
    assert velocity.max() <= peak.velocity_m_s * (1.0 + 1e-12)
    assert peak.deg_before_tdc == pytest.approx(-theta[choked].max(), abs=1.1e-3)
    x_mm = np.array([float(depth_m(math.radians(t), CRANK)) * 1000.0 for t in theta[choked]])
    kelvin = 350.0 * (54.0 / (7.4 + math.pi / 4.0 * 47.0**2 * x_mm / 1000.0)) ** 0.35
    np.testing.assert_allclose(velocity[choked], np.sqrt(2.0 * 1.35 * 287.05 * kelvin / 2.35), rtol=1e-10)
    slow = squish.peak_squish_velocity_compressible_m_s(*CRANK, 3000.0, *tight, *gas)
    assert not slow.choked


def test_peak_of_many_draws_at_once_is_the_peak_of_each() -> None:
    draws = np.random.default_rng(5).normal(1.0, 0.02, (4, 50))
    gap, inner = 0.8 * draws[0], 30.0 * draws[1]
    gas = (54.0 * draws[2], 400.0 * draws[3])
    together = squish.peak_squish_velocity_compressible_m_s(*CRANK, 9000.0, 47.0, 47.0, inner, gap, 1.0, 7.4, *gas)
    assert together.velocity_m_s.shape == together.deg_before_tdc.shape == together.choked.shape == (50,)
    for i in (0, 17, 49):
        alone = squish.peak_squish_velocity_compressible_m_s(
            *CRANK, 9000.0, 47.0, 47.0, inner[i], gap[i], 1.0, 7.4, gas[0][i], gas[1][i]
        )
        assert together.velocity_m_s[i] == alone.velocity_m_s
        assert together.deg_before_tdc[i] == alone.deg_before_tdc


@pytest.mark.parametrize(
    "head",
    [
        (47.0, 47.0, 30.0, 0.0, 0.0, 7.4),
        (47.0, 47.0, 30.0, -0.1, 0.0, 7.4),
        (47.0, 47.0, 30.0, -0.1, 2.0, 7.4),  # open at the inner edge only
        (47.0, 48.0, 30.0, 0.8, 0.0, 7.4),
        (47.0, 40.0, 41.0, 0.8, 0.0, 7.4),
        (47.0, 47.0, 0.0, 0.8, 0.0, 7.4),
        (47.0, 47.0, 30.0, 0.8, -6.0, 7.4),  # closes on the crown before its inner edge
        (47.0, 47.0, 30.0, 0.8, 0.0, 0.8),  # less than the band alone holds
        (47.0, 47.0, 30.0, math.nan, 0.0, 7.4),
    ],
)
def test_a_band_that_cannot_be_gives_nan(head: tuple[float, ...]) -> None:
    assert np.isnan(squish.squish_velocity_m_s(-10.0, *CRANK, 9000.0, *head))
    assert np.isnan(squish.peak_squish_velocity_m_s(*CRANK, 9000.0, *head).velocity_m_s)
    peak = squish.peak_squish_velocity_compressible_m_s(*CRANK, 9000.0, *head, *GAS)
    assert np.isnan(peak.velocity_m_s)
    assert not peak.choked


@pytest.mark.parametrize(
    "gas", [(0.0, 400.0, 1.35, 287.0), (54.0, 0.0, 1.35, 287.0), (54.0, 400.0, 1.0, 287.0), (54.0, 400.0, -1.0, 287.0)]
)
def test_a_gas_that_cannot_be_gives_nan(gas: tuple[float, ...]) -> None:
    assert np.isnan(squish.squish_velocity_compressible_m_s(-10.0, *CRANK, 9000.0, *FLAT, *gas).velocity_m_s)
    assert np.isnan(squish.peak_squish_velocity_compressible_m_s(*CRANK, 9000.0, *FLAT, *gas).velocity_m_s)


# --- area ----------------------------------------------------------------------------------------------------------


def test_area_ratio_of_a_band_of_half_the_bore() -> None:
    """Inner diameter 1/sqrt(2) of the bore leaves half the area."""
    assert squish.squish_area_ratio(48.0, 48.0, 48.0 / math.sqrt(2.0)) == pytest.approx(0.5, rel=1e-14)
    got = squish.squish_area_ratio(50.0, [40.0, 51.0, 20.0], 30.0)
    assert got[0] == pytest.approx(0.28, rel=1e-14)
    assert np.isnan(got[1:]).all()


# --- solder --------------------------------------------------------------------------------------------------------

tilts = st.tuples(st.floats(0.3, 2.0), st.floats(-0.2, 0.2), st.floats(-0.2, 0.2))


def drawn(plane: tuple[float, float, float], clock: Any) -> Any:
    angle = np.radians(np.asarray(clock, dtype=float))
    return plane[0] + plane[1] * np.cos(angle) + plane[2] * np.sin(angle)


@settings(deadline=None)
@given(tilts, st.sampled_from([[0, 120, 240], [0, 90, 180], [45, 135, 225, 315], [10, 100, 200], [0, 0, 90, 200]]))
def test_a_known_plane_is_found_again(plane: tuple[float, float, float], clock: list[float]) -> None:
    got = squish.solder_plane(clock, drawn(plane, clock))
    assert (got.known, got.not_known) == ("plane", "")
    np.testing.assert_allclose([got.mean_mm, got.along_0_mm, got.along_90_mm], plane, atol=1e-12)
    assert got.misfit_mm == pytest.approx(0.0, abs=1e-12)
    round_the_bore = drawn(plane, np.linspace(0.0, 360.0, 3601))
    np.testing.assert_allclose(squish.gap_at_clock_mm(got, np.linspace(0.0, 360.0, 3601)), round_the_bore, atol=1e-12)
    assert got.smallest_mm == pytest.approx(round_the_bore.min(), abs=1e-6)
    assert got.tilt_mm == pytest.approx(round_the_bore.max() - round_the_bore.min(), abs=1e-6)
    assert drawn(plane, got.smallest_at_clock_deg) == pytest.approx(float(got.smallest_mm), abs=1e-12)
    assert 0.0 <= got.smallest_at_clock_deg <= 360.0


def test_four_readings_off_a_plane_show_their_misfit() -> None:
    """A saddle of 0.05 mm has no plane in it: the fit is level and every reading is 0.05 mm off."""
    got = squish.solder_plane([0, 90, 180, 270], [0.85, 0.75, 0.85, 0.75])
    assert got.mean_mm == pytest.approx(0.8, rel=1e-12)
    assert got.tilt_mm == pytest.approx(0.0, abs=1e-12)
    assert got.misfit_mm == pytest.approx(0.05, rel=1e-12)


@pytest.mark.parametrize(
    ("clock", "reading"), [([30, 210], [0.9, 0.7]), ([350, 170], [0.7, 0.9]), ([40, 210], [0.9, 0.7])]
)
def test_two_opposite_readings_give_the_tilt_along_their_line_only(clock: list[float], reading: list[float]) -> None:
    got = squish.solder_plane(clock, reading)
    assert got.known == "line"
    assert "tilt across the line" in got.not_known
    assert got.mean_mm == pytest.approx(0.8, abs=1e-12)
    assert got.tilt_mm == pytest.approx(0.2, rel=5e-3)  # 10 deg off opposite makes 0.4 % of difference
    assert got.smallest_mm == pytest.approx(0.7, abs=1e-3)
    tightest = clock[int(np.argmin(reading))]
    assert abs((got.smallest_at_clock_deg - tightest + 180.0) % 360.0 - 180.0) <= 5.0 + 1e-9
    assert np.isnan(got.along_0_mm)
    assert np.isnan(got.along_90_mm)
    with pytest.raises(GeometryError, match="at least 3 different places"):
        squish.gap_at_clock_mm(got, 120.0)


def test_two_readings_side_by_side_give_no_tilt() -> None:
    got = squish.solder_plane([0, 90], [0.9, 0.7])
    assert got.known == "places"
    assert "90 deg apart" in got.not_known
    assert (got.smallest_mm, got.smallest_at_clock_deg) == (0.7, 90.0)
    assert np.isnan(got.tilt_mm)


def test_readings_on_one_side_of_the_bore_say_what_is_carried_on() -> None:
    assert "no reading over 240 deg" in squish.solder_plane([0, 60, 120], [0.9, 0.8, 0.7]).not_known


def test_draws_by_readings() -> None:
    draws = np.random.default_rng(3).normal(0.8, 0.03, (200, 4))
    got = squish.solder_plane([0, 90, 180, 270], draws)
    for field in ("mean_mm", "tilt_mm", "smallest_mm", "smallest_at_clock_deg", "misfit_mm"):
        assert getattr(got, field).shape == (200,)
    np.testing.assert_allclose(got.mean_mm, draws.mean(axis=1), rtol=1e-12)
    np.testing.assert_allclose(got.tilt_mm, np.hypot(draws[:, 0] - draws[:, 2], draws[:, 1] - draws[:, 3]), rtol=1e-12)
    two = squish.solder_plane([90, 270], draws[:, [1, 3]])
    np.testing.assert_allclose(two.smallest_mm, draws[:, [1, 3]].min(axis=1), rtol=1e-12)
    np.testing.assert_array_equal(two.smallest_at_clock_deg, np.where(draws[:, 1] < draws[:, 3], 90.0, 270.0))


@settings(deadline=None)
@given(tilts, st.floats(0.01, 1.0))
def test_more_gasket_widens_every_gap_by_its_thickness(plane: tuple[float, float, float], thicker: float) -> None:
    clock = [0, 90, 180, 270]
    before = squish.solder_plane(clock, drawn(plane, clock))
    after = squish.solder_plane(clock, drawn(plane, clock) + thicker)
    assert after.mean_mm - before.mean_mm == pytest.approx(thicker, abs=1e-12)
    assert after.smallest_mm - before.smallest_mm == pytest.approx(thicker, abs=1e-12)
    assert after.tilt_mm == pytest.approx(float(before.tilt_mm), abs=1e-12)


@pytest.mark.parametrize(
    ("clock", "reading", "words"),
    [
        ([0], [0.8], "at least 2 are needed"),
        ([0, 360], [0.8, 0.9], "at 1 place"),
        ([0, 90], [0.8], "one position for each"),
        ([], [], "at least 2 are needed"),
    ],
)
def test_too_few_readings_are_refused(clock: list[float], reading: list[float], words: str) -> None:
    with pytest.raises(GeometryError, match=words):
        squish.solder_plane(clock, reading)
