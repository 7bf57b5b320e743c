"""The whole engine: conservation, balances, convergence, an independent model of the closed part, refusals."""

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from scribeline.cycle import turning as tn
from scribeline.cycle.along import power_curve
from scribeline.cycle.batches import batch
from scribeline.cycle.engine import Chamber, Knobs, Section
from scribeline.cycle.simulate import (
    CycleResult,
    Running,
    Settings,
    distance_to_limit,
    run,
    settle,
    simulate,
    slow_change,
)
from scribeline.errors import CycleError
from tests.cycle.invented import engine

REED = engine(reed=True)


def in_system(running: Running) -> np.ndarray:
    """Mass, energy and fresh mass in ducts, cylinder and crankcase."""
    net = running.tables.network
    size = np.zeros(net.q.shape[1])
    live = net.geo[1] > 0
    size[live] = 1 / net.geo[1, live]
    return net.q[[0, 2, 3]] @ size + net.volumes[:3, [tn.CYLINDER, tn.CRANKCASE]].sum(axis=1)


@pytest.mark.parametrize("with_reed", [False, True])
def test_every_revolution_conserves_mass_and_energy_to_rounding(with_reed):
    """Adiabatic pipes: what came in less what went out, heat, work and wall loss is what the engine holds more."""
    knobs = Knobs(analogy=0.0)
    running = Running(engine(reed=with_reed), 9000.0, Settings(knobs=knobs))
    for _ in range(3):
        before = in_system(running)
        running.turn()
        change = in_system(running) - before
        net_in = -(running.flows[:, 1] + running.flows[:, -1])
        t = running.totals
        net_in[1] += t[tn.GAINED_J] - t[tn.LOST_J] - t[tn.WORK_J] - t[tn.CASE_WORK_J]
        assert np.abs((change - net_in) / before)[:2].max() < 1e-13
        # fresh mass: what the burn used up is the heat over the heat per kilogram
        used = t[tn.HEAT_J] / running.tables.numbers[tn.HEAT_J_KG]
        assert abs(change[2] - net_in[2] + used) / before[2] < 1e-12


def test_a_converged_run_is_near_the_true_periodic_state():
    """Against 150 revolutions: mean pressure, trapped and crankcase mass, pipe energy within 0.5 %."""
    for speed in (7500.0, 10000.0):
        got = simulate(REED, speed)
        running = Running(REED, speed, Settings())
        late = []
        for _ in range(150):
            running.turn()
            late.append(running.monitored())
        true = np.mean(late[-8:], axis=0)
        found = got.history[-got.averaged :].mean(axis=0)
        assert np.abs(found / true - 1).max() < 0.005, (speed, found / true - 1)


@pytest.mark.parametrize("factor", [0.3, 0.6, 0.8, 0.9])
def test_distance_to_limit_of_a_known_series(factor):
    """Geometric approach to 1, straight or swinging: at least what is left, at most what a front could bring."""
    for sign in (1.0, -1.0):
        series = (1.0 + 0.1 * (sign * factor) ** np.arange(20.0))[:, None]
        first, last = 0.1 * factor**16, 0.1 * factor**19  # what was left in the revolutions looked back on
        assert last < distance_to_limit(series, 12.0) < 12.0 * first, sign
    assert distance_to_limit(series[:3], 12.0) == math.inf


def test_distance_to_limit_follows_a_steady_front_until_the_pipe_is_renewed():
    """A trend of 1e-3 per revolution with 12 revolutions of old gas left means 1.2 % to go; at rest, nothing."""
    series = np.column_stack([1.0 + 1e-3 * np.arange(20.0), np.ones(20)])
    assert distance_to_limit(series, 12.0) == pytest.approx(0.012 / series[-4:, 0].mean(), rel=1e-9)
    assert distance_to_limit(series[:, 1:], 12.0) == 0.0


@cache
def closed_part():
    """A settled engine, and scipy's DOP853 on the first law from exhaust closing to opening; gas law, burn and wall
    heat are written anew here. Returns the engine turning, crank angles [rad] and pressures [Pa] of the other model."""
    running = Running(REED, 9000.0, Settings())
    for _ in range(15):
        running.turn()
    gas, vector = running.tables.network.gas, running.tables.numbers
    mass, energy, fresh = running.tables.network.volumes[:3, tn.CYLINDER].copy()
    running.turn()
    cyl = REED.cylinder
    opens = REED.exhaust_opens_rad
    r, rod = 0.5 * cyl.stroke_m, cyl.rod_m
    omega = 9000.0 * 2 * math.pi / 60
    poly_b = np.array([gas[5] / 4, gas[4] / 3, gas[3] / 2, gas[2], 0.0])
    poly_f = np.array([gas[9] / 4, gas[8] / 3, gas[7] / 2, gas[6], 0.0])

    def volume(theta):
        x = r * (1 - math.cos(theta)) + rod - math.sqrt(rod**2 - (r * math.sin(theta)) ** 2)
        slope = r * math.sin(theta) + r**2 * math.sin(theta) * math.cos(theta) / math.sqrt(
            rod**2 - (r * math.sin(theta)) ** 2
        )
        return cyl.clearance_m3 + cyl.area_m2 * x, cyl.area_m2 * slope, x

    residual = 1 - fresh / mass
    duration = 48.0 * (9000 / 8000) ** 0.3 * (1 + 1.5 * (residual - 0.2))

    def burned(theta):
        z = (math.degrees(theta) - REED.spark_deg_atdc) / duration
        return (
            (1 - math.exp(-5 * z**3), 15 / duration * z * z * math.exp(-5 * z**3) * 180 / math.pi)
            if z > 0
            else (0.0, 0.0)
        )

    chemical = vector[tn.HEAT_J_KG] + np.polyval(poly_b, 298.15) - np.polyval(poly_f, 298.15)

    def state(theta, u):
        y = fresh / mass * (1 - burned(theta)[0])
        poly = poly_b + y * (poly_f - poly_b)
        t = brentq(lambda t: np.polyval(poly, t) - u / mass, 200, 4000, xtol=1e-10)
        gas_r = gas[0] + y * (gas[1] - gas[0])
        return mass * gas_r * t / volume(theta)[0], t, gas_r, np.polyval(np.polyder(poly), t)

    def rates(theta, s):
        p, t, gas_r, cv = state(theta, s[0])
        v, dv, x = volume(theta)
        mu = 1.458e-6 * t**1.5 / (t + 110.4)
        reynolds = mass / v * (4 * r * omega / (2 * math.pi)) * cyl.bore_m / mu
        h = 0.45 * (cv + gas_r) * mu / 0.7 / cyl.bore_m * reynolds**0.7
        lost = h * (2 * cyl.area_m2 + math.pi * cyl.bore_m * x) * (t - REED.cylinder_wall_k) / omega
        return [fresh * burned(theta)[1] * chemical - lost - p * dv, p * dv, lost]

    # the trace keeps the first step in each half degree, and goes straight where a step is longer
    done = solve_ivp(
        rates, (-opens, opens), [energy, 0, 0], method="DOP853", rtol=1e-9, atol=1e-9, dense_output=True, max_step=0.02
    )
    assert done.success
    theta = np.linspace(-opens, opens, 4000)
    return running, theta, np.array([state(a, done.sol(a)[0])[0] for a in theta])


def test_closed_part_against_an_independent_model():
    running, theta, pressures = closed_part()
    opens = REED.exhaust_opens_rad
    assert running.totals[tn.PEAK_PA] == pytest.approx(pressures.max(), rel=2e-3)
    assert math.degrees(running.totals[tn.PEAK_RAD]) == pytest.approx(math.degrees(theta[pressures.argmax()]), abs=1.2)
    bins = np.arange(tn_bins := running.trace.shape[1])
    angle = (bins + 0.5) / tn_bins * 2 * math.pi
    angle = np.where(angle > math.pi, angle - 2 * math.pi, angle)
    inside = (np.abs(angle) < opens - 0.05) & (running.trace[tn.TRACE_CYLINDER_PA] > 0)
    want = np.interp(angle[inside], theta, pressures)
    error = running.trace[tn.TRACE_CYLINDER_PA, inside] / want - 1
    assert np.abs(error).max() < 0.025  # the bin is half a degree wide
    assert abs(error.mean()) < 5e-3


def test_no_column_of_a_trace_is_of_an_earlier_revolution():
    """Steps are longer than a column is wide; where the revolution begins, the one before has ended."""
    running = Running(engine(), 5000.0, Settings(cell_m=0.04))
    for _ in range(2):
        running.turn()
    closing = int(running.engine.closes_rad / (2.0 * math.pi) * running.trace.shape[1])
    assert running.totals[tn.STEPS] < 0.7 * running.trace.shape[1]
    running.trace[:, np.arange(running.trace.shape[1]) != closing] = np.nan
    running.turn()
    assert np.isfinite(running.trace).all()


def test_grid_convergence():
    """Half the cell: mean pressure and delivery ratio near peak power change by less than 1.5 %."""
    coarse, fine = (simulate(REED, 9500.0, Settings(cell_m=c)) for c in (0.010, 0.005))
    assert coarse.imep_pa == pytest.approx(fine.imep_pa, rel=0.015)
    assert coarse.delivery_ratio == pytest.approx(fine.delivery_ratio, rel=0.015)


def test_sweeps_up_and_down_agree():
    """Without a reed, and with petals that air and clamping damp well."""
    speeds = [8500.0, 9000.0, 9500.0, 10000.0]
    for one in (engine(), replace(REED, reed=replace(REED.reed, damping=0.3))):
        up = power_curve(one, speeds, threads=1)
        down = power_curve(one, speeds[::-1], threads=1)[::-1]
        for a, b in zip(up, down, strict=True):
            assert a.imep_pa == pytest.approx(b.imep_pa, rel=0.01)


def test_a_lightly_damped_reed_can_settle_in_two_ways():
    """Not an error of the arithmetic: from a cold start and from its slower neighbour the engine repeats itself at
    two different levels, petals bouncing in two rhythms. `tasks.curve_sure.with_downward` reports it."""
    some = replace(REED, reed=replace(REED.reed, damping=0.15))
    neighbour = Running(some, 8000.0, Settings())
    run(neighbour)
    ends = []
    for start in (None, neighbour):
        running = Running(some, 8500.0, Settings())
        if start is not None:
            running.start_from(start)
        for _ in range(80):
            running.turn()
        last = running.monitored()
        running.turn()
        assert running.monitored() == pytest.approx(last, rel=1e-5)
        ends.append(last[0])
    assert 0.01 < abs(ends[0] / ends[1] - 1.0) < 0.05


@pytest.mark.usefixtures("in_doubles")
def test_batch_gives_what_single_runs_give():
    """Another time loop, many engines abreast, whose ends are solved in another way: alike to rounding."""
    rows = batch([REED, engine()], [9000.0], threads=2)
    assert isinstance(rows[0][0], CycleResult)
    assert rows[0][0].imep_pa == pytest.approx(simulate(REED, 9000.0).imep_pa, rel=1e-9)
    assert rows[1][0].imep_pa == pytest.approx(simulate(engine(), 9000.0).imep_pa, rel=1e-9)


def test_a_batch_in_single_precision_comes_to_the_same():
    """As batches are: a mean pressure within 3e-6 (judgement: ten times what was seen), the revolutions the same."""
    for some, row in zip((REED, engine()), batch([REED, engine()], [9000.0], threads=2), strict=True):
        alone = simulate(some, 9000.0)
        assert isinstance(row[0], CycleResult)
        assert row[0].imep_pa == pytest.approx(alone.imep_pa, rel=3e-6)
        assert row[0].cycles == alone.cycles


def test_who_takes_long_must_be_near_twice():
    """A run that creeps past a state that does not hold can look settled for one revolution, here the 20th."""

    class Creeping:
        settings = Settings(flush=1.0, patient=False)
        turned = 0
        distance_of_periods = Running.distance_of_periods

        def monitored(self):
            self.turned += 1
            return np.array([1.0 + 0.03 * (self.turned % 5), 1.0, 1.0, 1.0])

        def distance(self, history):
            return 0.001 if len(history) == 20 or len(history) >= 27 else 0.006

        def renewal(self):
            return 10.0

        def mass_imbalance(self, _revolutions):
            return 0.02

        def result(self, history, distance, averaged):
            return len(history), distance, averaged

    work = settle(Creeping(), flushed=True)
    for _ in range(28):
        next(work)
    with pytest.raises(StopIteration) as end:
        next(work)
    assert end.value.value == (28, 0.001, 1)


@pytest.mark.parametrize("period", [1, 2, 3, 5, 8])
def test_an_engine_that_repeats_itself_every_so_often_is_averaged_over_that(period):
    """The work of one revolution in a period is a tenth more, which no mean of fewer hides. Patient or not, the mean is
    of whole periods and comes long before 100 revolutions."""

    class Repeating(Running):
        def __init__(self, settings):
            self.settings, self.speed_rpm, self.turned = settings, 9000.0, 0

        def turn(self):
            self.turned += 1

        def monitored(self):
            return np.array([1.0 + 0.1 * (self.turned % period == 0), 1.0, 1.0, 1.0])

        def renewal(self):
            return 10.0

        def mass_imbalance(self, revolutions=1):
            return 0.0 if revolutions % period == 0 else 0.05

        def result(self, history, distance, averaged):
            return len(history), averaged

    for patient in (True, False):
        work = settle(Repeating(Settings(patient=patient)), flushed=True)
        try:
            while True:
                next(work).turn()
        except StopIteration as end:
            turned, averaged = end.value
        assert averaged % period == 0
        assert averaged <= 2 * period
        assert turned <= 5 * period + 18


def test_slow_change_of_known_series():
    """What a geometric series has still to go from the mean of its last block, growth, rest, and a turn."""
    turns = np.arange(24.0).reshape(-1, 1)
    for kept in (0.8, 0.95, 0.98):
        series = 1.0 - 0.03 * kept**turns
        assert slow_change(series) == pytest.approx(1.0 - series[-4:].mean(), rel=0.03)
    assert slow_change(1.0 + 1e-5 * turns) == pytest.approx(25 * 4e-5, rel=1e-3)  # it does not fade
    assert slow_change(1.0 + 1e-6 * 1.1**turns) > 25 * 1e-6
    assert slow_change(np.ones((12, 1))) == 0.0
    assert slow_change(np.repeat([1.0, 1.1, 1.05], 4).reshape(-1, 1)) == 0.0
    assert slow_change(np.ones((11, 1))) == math.inf


def test_an_engine_that_creeps_is_turned_until_it_is_there():
    """The piston port at 5342 rpm looks settled after six revolutions and creeps on for a hundred."""
    speeds = (5000.0, 5000.0 + 6500.0 / 19.0)
    before, running = (Running(engine(), speed, Settings()) for speed in speeds)
    run(before)
    got = run(running, before)
    for _ in range(150):
        running.turn()
    assert got.imep_pa * engine().cylinder.swept_m3 == pytest.approx(running.monitored()[0], rel=0.005)
    hasty = Running(engine(), speeds[1], Settings(patient=False))
    first = run(hasty, before)
    assert abs(first.imep_pa * engine().cylinder.swept_m3 / running.monitored()[0] - 1.0) > 0.005  # the test can fail


def test_a_run_that_cannot_finish_says_so():
    with pytest.raises(CycleError, match="after 4 revolutions"):
        simulate(REED, 9000.0, Settings(most_cycles=4))
    with pytest.raises(CycleError, match="over 50 steps"):
        simulate(REED, 9000.0, Settings(most_steps=50))


def test_what_left_physical_bounds_is_said_with_its_numbers():
    """A cell of the pipe is made empty, the fifth of 44 in 1047 mm; and a cylinder without pressure."""
    running = Running(engine(), 9000.0, Settings(cell_m=0.02))
    running.turn()
    running.tables.network.q[:3, 5] = -1.0, 0.0, 1e5
    with pytest.raises(CycleError, match=r"9000 rpm: .* -1 kg/m3 and \S+ Pa in the exhaust duct, 107 mm from the"):
        running.turn()
    running = Running(engine(), 9000.0, Settings(cell_m=0.02))
    running.tables.network.volumes[:3, tn.CYLINDER] *= -1.0
    with pytest.raises(CycleError, match=r"-\S+ Pa in the cylinder"):
        running.turn()


def test_one_speed_can_be_stopped_and_says_how_far_it_is():
    seen = []
    with pytest.raises(CycleError, match="9000 rpm: stopped after 3 revolutions, as asked"):
        simulate(REED, 9000.0, progress=lambda done, most: seen.append((done, most)) or done == 3)
    assert [done for done, _ in seen] == [1, 2, 3]
    assert {most for _, most in seen} == {224}  # with those of longer cells


def test_a_curve_can_be_stopped():
    with pytest.raises(CycleError, match="stopped after 1 of 3"):
        power_curve(REED, [9000.0, 9500.0, 10000.0], threads=1, progress=lambda done, _: done == 1)


@pytest.mark.parametrize(
    ("change", "speed", "words"),
    [
        ({}, 0.0, "speed_rpm = 0"),
        ({"throttle": 0.0}, 9000.0, "throttle = 0"),
        ({"afr": 5.0}, 9000.0, "afr = 5"),
        ({"exhaust": []}, 9000.0, "exhaust: at least one"),
        ({"exhaust": [replace(REED.exhaust[0], length_m=-0.1)]}, 9000.0, "exhaust section 1: length_m = -0.1"),
        ({"reed": replace(REED.reed, thickness_m=0.0)}, 9000.0, "reed: thickness_m = 0"),
        ({"case_at_tdc_m3": 5e-5}, 9000.0, "case_at_tdc_m3"),
        ({"intake_area_m2": np.zeros(721)}, 9000.0, "intake_area_m2"),
        ({"blow_by_m2": 1e-4}, 9000.0, "blow_by_m2 = 0.0001"),
    ],
)
def test_bad_input_is_refused_before_anything_is_computed(change, speed, words):
    with pytest.raises(CycleError, match=words):
        simulate(replace(REED, **change), speed)


def test_throttle_costs_power():
    full, part = (simulate(replace(REED, throttle=x), 8000.0) for x in (1.0, 0.15))
    assert part.delivery_ratio < 0.7 * full.delivery_ratio
    assert part.imep_pa < 0.85 * full.imep_pa


def in_chambers(running: Running) -> np.ndarray:
    """Mass, energy and fresh mass in airbox and silencer."""
    return running.tables.network.volumes[:3, tn.RIGID :].sum(axis=1)


def test_chambers_blow_by_and_a_gap_under_the_skirt_lose_nothing():
    """The whole engine with everything on: what went through the two tubes to the open air is what it holds more."""
    gap = np.roll(engine().exhaust_area_m2, 360)[::-1] * 0.1
    box, can = Chamber(2e-3, [Section(0.08, 0.03, 0.03)]), Chamber(1e-3, [Section(0.10, 0.02, 0.02)])
    full = replace(engine(), airbox=box, silencer=can, blow_by_m2=3e-7, exhaust_under_skirt_m2=gap)
    running = Running(full, 8000.0, Settings(knobs=Knobs(analogy=0.0), cell_m=0.02))
    for _ in range(3):
        before = in_system(running) + in_chambers(running)
        running.turn()
        change = in_system(running) + in_chambers(running) - before
        net_in = -(running.flows[:, -3] + running.flows[:, -1])
        t = running.totals
        net_in[1] += t[tn.GAINED_J] - t[tn.LOST_J] - t[tn.WORK_J] - t[tn.CASE_WORK_J]
        assert np.abs((change - net_in) / before)[:2].max() < 1e-13
    assert running.tables.network.ends[0, 2] in (tn.CYLINDER_AT_EXHAUST, tn.CRANKCASE)


def test_each_extra_does_what_it_should():
    """A leak and a gap cost trapped charge; a small, throttled box costs delivery; a huge open box is the open air."""
    speed, quick = 8000.0, Settings(cell_m=0.02)
    plain = simulate(engine(), speed, quick)
    leaky = simulate(replace(engine(), blow_by_m2=2e-6), speed, quick)
    assert leaky.imep_pa < 0.99 * plain.imep_pa
    tight = simulate(replace(engine(), airbox=Chamber(5e-4, [Section(0.1, 0.012, 0.012)])), speed, quick)
    assert tight.delivery_ratio < 0.9 * plain.delivery_ratio
    open_ = Chamber(1.0, [Section(0.05, 0.3, 0.3)])
    free = simulate(replace(engine(), airbox=open_), speed, quick)
    assert free.delivery_ratio == pytest.approx(plain.delivery_ratio, rel=5e-3)
    assert free.imep_pa == pytest.approx(plain.imep_pa, rel=1e-2)
