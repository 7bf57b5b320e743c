"""Small waves: pipe and bottle resonances, and what a step in area reflects."""

import numpy as np
import pytest

from scribeline.cycle.layout import FREE, WALL, Duct, End, Network, Volume, lay_out
from scribeline.kernels.gas import perfect_gas
from scribeline.models import resonance
from tests.reference.checks import load

GAS = load("04_gas_dynamics")
AIR = perfect_gas(1.4, 287.05)
P0 = 101325.0


def ring_hz(net: Network, pressure, expected_hz: float, periods: int = 5) -> float:
    """Frequency from the first and last rising zero crossing of pressure(net) about P0."""
    dt = 1.0 / (expected_hz * 48)
    sound = []
    for _ in range(periods * 48):
        net.march(dt)
        sound.append(pressure(net) - P0)
    sound = np.array(sound)
    rising = np.flatnonzero((sound[:-1] < 0) & (sound[1:] >= 0))
    at = rising - sound[rising] / (sound[rising + 1] - sound[rising])
    assert np.abs(sound[-48:]).max() > 0.5 * np.abs(sound[:48]).max(), "the wave died"
    return (len(at) - 1) / ((at[-1] - at[0]) * dt)


def pipe(length, diameter, cells, left, right, t_k, shape):
    area = np.full(cells + 1, 0.25 * np.pi * diameter**2)
    air = [Volume(P0, t_k)]
    net = lay_out(AIR, [Duct(length, area, left, right)], air, P0, t_k)
    x = (np.arange(cells) + 0.5) / cells
    size = 1e-5 * shape(x)
    rho = P0 / (287.05 * t_k)
    net.set_duct(0, rho * (1 + size), np.zeros(cells), P0 * (1 + 1.4 * size), 0.0)
    return net


@pytest.mark.parametrize("key", ["resonance-pipe-0.3", "resonance-pipe-0.85", "resonance-pipe-0.12"])
@pytest.mark.parametrize("corrected", [False, True])
def test_closed_open_pipe_rings_at_a_quarter_wave(key, corrected):
    """Our open end holds the pressure at the rim, so the correction is length added to the duct."""
    check = GAS[key]
    length, diameter, t_k = (check.inputs[k] for k in ("length_m", "inside_diameter_m", "T_K"))
    if corrected:
        want = check.expected["quarter_wave_Hz"][0]
        length += resonance.open_end_correction_m(diameter)
    else:
        want = check.expected["quarter_wave_no_correction_Hz"]
    assert quarter_wave_hz(length, diameter, t_k, want) == pytest.approx(want, rel=2e-3)


def quarter_wave_hz(length, diameter, t_k, expected_hz):
    """What a pipe closed at one end rings at, correction already in the length."""
    net = pipe(length, diameter, 40, End(WALL), End(0), t_k, lambda x: np.cos(0.5 * np.pi * x))
    return ring_hz(net, lambda n: n.w[1, n.spans[0].start], expected_hz)


def test_open_open_pipe_rings_at_a_half_wave():
    check = GAS["resonance-pipe-0.3"]
    length, diameter = check.inputs["length_m"], check.inputs["inside_diameter_m"]
    want = check.expected["half_wave_open_open_Hz"][0]
    longer = length + 2 * resonance.open_end_correction_m(diameter)
    assert half_wave_hz(longer, diameter, check.inputs["T_K"], want) == pytest.approx(want, rel=2e-3)


def half_wave_hz(length, diameter, t_k, expected_hz):
    """What a pipe open at both ends rings at, corrections already in the length."""
    net = pipe(length, diameter, 40, End(0), End(0), t_k, lambda x: np.sin(np.pi * x))
    return ring_hz(net, lambda n: n.w[1, n.spans[0].start + 20], expected_hz)


@pytest.mark.parametrize("key", ["resonance-helmholtz-0.0003", "resonance-helmholtz-0.000165"])
def test_bottle_rings_at_the_helmholtz_frequency(key):
    """The lumped formula leaves out the springiness of the air in the neck: it is high by about 1/6 of the volumes'
    ratio in frequency; the test compares with the exact neck, tan(k L) = A / (k V)."""
    from scipy.optimize import brentq

    check = GAS[key]
    volume, length, diameter = (check.inputs[k] for k in ("volume_m3", "neck_length_m", "neck_diameter_m"))
    c = np.sqrt(1.4 * 287.05 * check.inputs["T_K"])
    area = 0.25 * np.pi * diameter**2
    k = brentq(lambda k: np.tan(k * length) - area / (k * volume), 1e-6, 0.5 * np.pi / length - 1e-9)
    want = k * c / (2 * np.pi)
    lumped = check.expected["frequency_no_correction_Hz"]
    assert 0.9 * lumped < want < lumped
    net = lay_out(
        AIR,
        [Duct(length, np.full(31, area), End(0), End(1))],
        [Volume(P0 * 1.00001, check.inputs["T_K"], size_m3=volume), Volume(P0, check.inputs["T_K"])],
        P0,
        check.inputs["T_K"],
    )
    got = ring_hz(net, lambda n: n.w[1, n.spans[0].start], want)
    assert got == pytest.approx(want, rel=2e-3)


@pytest.mark.parametrize(
    "key", ["acoustic-area-7-28", "acoustic-area-28-7", "acoustic-area-10-10", "acoustic-area-40-4"]
)
def test_a_step_in_area_reflects_what_acoustics_says(key):
    check = GAS[key]
    reflected, transmitted = at_a_step(check.inputs["area1"], check.inputs["area2"])
    assert reflected == pytest.approx(check.expected["reflection"], abs=0.01)
    assert transmitted == pytest.approx(check.expected["transmission"], rel=0.01)


@pytest.mark.parametrize("ratio", [1 / 50, 1 / 10, 1 / 6, 6.0, 10.0, 50.0])
def test_a_step_as_large_as_at_the_mouth_of_a_silencer(ratio):
    """Against (1 - r)/(1 + r) and 2/(1 + r): widening ones swung up in a few steps before their yield counted."""
    reflected, transmitted = at_a_step(1.0, ratio)
    assert reflected == pytest.approx((1.0 - ratio) / (1.0 + ratio), abs=0.01)
    assert transmitted == pytest.approx(2.0 / (1.0 + ratio), rel=0.01)


@pytest.mark.parametrize("ratio", [2.0, 6.0, 16.0, 50.0])
@pytest.mark.parametrize("wide", [True, False])
def test_sound_between_two_steps_dies_down(ratio, wide):
    """A can between two tubes, or a tube between two cans; the ends let go what comes. Nothing ever gets louder."""
    cells, c = 120, np.sqrt(1.4 * 287.05 * 293.15)
    outer, inner = (1.0, ratio) if wide else (ratio, 1.0)
    place = np.arange(cells + 1)
    faces = np.where((place > 40) & (place < 80), inner, outer)
    faces[[40, 80]] = 1.0
    steps = {40: (outer, inner), 80: (inner, outer)}
    net = lay_out(AIR, [Duct(1.2, faces, End(FREE), End(FREE), steps=steps)], [], P0, 293.15)
    x = (np.arange(cells) + 0.5) / cells
    size = 1e-4 * np.exp(-(((x - 0.5) / 0.05) ** 2))
    net.set_duct(0, P0 / (287.05 * 293.15) * (1 + size), 0.0 * x, P0 * (1 + 1.4 * size), 0.0)
    loudest = []
    for _ in range(40):
        net.march(0.6 / c)
        loudest.append(np.abs(net.w[1, net.spans[0]] / P0 - 1.0).max())
    assert max(loudest) <= 1.4e-4
    assert loudest[-1] < 0.15 * 1.4e-4


def at_a_step(a1: float, a2: float) -> tuple[float, float]:
    """A smooth pulse of sound meets the step in the middle: the heights of what returns and what goes on."""
    cells = 400
    middle = cells // 2
    faces = np.where(np.arange(cells + 1) < middle, a1, a2).astype(float)
    faces[middle] = min(a1, a2)
    net = lay_out(AIR, [Duct(1.0, faces, End(FREE), End(FREE), steps={middle: (a1, a2)})], [], P0, 293.15)
    x = (np.arange(cells) + 0.5) / cells
    c = np.sqrt(1.4 * 287.05 * 293.15)
    size = 1e-6 * np.where(np.abs(x - 0.25) < 0.15, np.cos(np.pi * (x - 0.25) / 0.3) ** 4, 0.0)
    rho = P0 / (287.05 * 293.15)
    net.set_duct(0, rho * (1 + size), c * size, P0 * (1 + 1.4 * size), 0.0)
    net.march(0.5 / c)
    p = net.w[1, net.spans[0]] / P0 - 1
    back, on = p[:middle], p[middle:]
    reflected = back[np.abs(back).argmax()] / 1.4e-6 if a1 != a2 else back.sum() / size.sum() / 1.4
    transmitted = on[np.abs(on).argmax()] / 1.4e-6
    return float(reflected), float(transmitted)
