"""Every check of 05_combustion_thermo.toml through public functions."""

import numpy as np
import pytest
from scipy.integrate import quad

from scribeline.cycle.cylinder import Cylinder, closed_cycle
from scribeline.models import fuel, gas_properties, knock, scavenging, wiebe, woschni
from tests.reference.checks import Check, assert_close, each, not_run

FILE = "05_combustion_thermo"


@each(FILE, "wiebe-")
def test_wiebe(check: Check) -> None:
    i, want = check.inputs, check.expected
    shape = (i["start_deg"], i["duration_deg"], i["a"], i["m"])
    for part, theta, burned, rate in want["rows"]:
        assert theta == pytest.approx(i["start_deg"] + part * i["duration_deg"], rel=1e-12)
        assert wiebe.burned_fraction(theta, *shape) == pytest.approx(burned, rel=check.rtol)
        assert wiebe.burn_rate_per_deg(theta, *shape) == pytest.approx(rate, rel=check.rtol)
    for percent in (10, 50, 90):
        got = wiebe.angle_of_fraction_deg(percent / 100, *shape)
        assert got == pytest.approx(want[f"theta{percent}_deg"], rel=check.rtol)
    end = wiebe.burned_fraction(i["start_deg"] + i["duration_deg"], *shape)
    assert end == pytest.approx(want["burned_at_end"], rel=check.rtol)


def sealed(ratio: float, gamma: float, **burn: float) -> dict[str, float]:
    """A sealed cylinder of 100 cm3 swept, from bottom to bottom dead centre."""
    cylinder = Cylinder(
        bore_m=0.05, stroke_m=1e-4 / (0.25 * np.pi * 0.05**2), rod_m=0.1, clearance_m3=1e-4 / (ratio - 1)
    )
    return closed_cycle(cylinder, gamma, 287.0, 1e5, 300.0, -np.pi, np.pi, **burn)


@each(FILE, "otto-")
def test_otto_cycle(check: Check) -> None:
    """All heat within a hundredth of a degree of top dead centre; the check's figure is the limit."""
    ratio, gamma = check.inputs["ratio"], check.inputs["gamma"]
    got = sealed(ratio, gamma, heat_j=100.0, start_deg=-0.005, duration_deg=0.01, wiebe_a=30.0, most_step_deg=0.02)
    assert got["work_j"] / 100.0 == pytest.approx(check.expected["efficiency"], rel=1e-4)
    motored = sealed(ratio, gamma, heat_j=0.0, most_step_deg=0.05)
    assert motored["peak_pressure_pa"] / 1e5 == pytest.approx(check.expected["compression_pressure_ratio"], rel=1e-6)
    rise = motored["peak_temperature_k"] / 300.0
    assert rise == pytest.approx(check.expected["compression_temperature_ratio"], rel=1e-6)


def of_check(check: Check) -> tuple[Cylinder, float]:
    """The check's cylinder, and the crank angle [rad] at which its exhaust port opens."""
    i = check.inputs
    cylinder = Cylinder(1e-3 * i["bore"], 1e-3 * i["stroke"], 1e-3 * i["rod"], 1e-6 * i["clearance_volume_cm3"])
    return cylinder, cylinder.angle_of_depth_rad(1e-3 * i["exhaust_top_edge_depth_mm"])


@each(FILE, "motored-")
def test_motored_sealed_compression(check: Check) -> None:
    """Our steps are second order in the step: run with two steps and extrapolate to none."""
    i, want = check.inputs, check.expected
    cylinder, opens = of_check(check)
    state = (i["gamma"], 287.0, i["p_at_closing_Pa"], i["T_at_closing_K"])
    for theta_deg, volume, p, t in want["rows"]:
        theta = np.radians(theta_deg)
        assert cylinder.volume_m3(theta) * 1e6 == pytest.approx(volume, rel=check.rtol)
        coarse, fine = (closed_cycle(cylinder, *state, -opens, theta, most_step_deg=s) for s in (0.1, 0.05))
        assert fine["end_pressure_pa"] == pytest.approx(p, rel=1e-6)
        for key, value in (("end_pressure_pa", p), ("end_temperature_k", t)):
            limit = fine[key] + (fine[key] - coarse[key]) / 3.0
            assert limit == pytest.approx(value, rel=check.rtol), key
    trapped = cylinder.volume_m3(opens) / cylinder.volume_m3(0.0)
    assert trapped == pytest.approx(want["trapped_ratio"], rel=check.rtol)


@each(FILE, "closed-cycle-")
def test_closed_cycle_with_burn(check: Check) -> None:
    i, want = check.inputs, check.expected
    cylinder, opens = of_check(check)
    got = closed_cycle(
        cylinder,
        i["gamma"],
        287.0,
        i["p_at_closing_Pa"],
        i["T_at_closing_K"],
        -opens,
        opens,
        heat_j=i["heat_J"],
        start_deg=i["start_deg"],
        duration_deg=i["duration_deg"],
        wiebe_a=i["wiebe_a"],
        wiebe_m=i["wiebe_m"],
        most_step_deg=0.02,
    )
    assert got["work_j"] == pytest.approx(want["work_J"], rel=check.rtol)
    imep = got["work_j"] / cylinder.swept_m3 / 1e5
    assert imep == pytest.approx(want["imep_closed_on_geometric_swept_bar"], rel=check.rtol)
    assert got["peak_pressure_pa"] == pytest.approx(want["peak_pressure_Pa"], rel=check.rtol)
    assert got["peak_angle_deg"] == pytest.approx(want["peak_angle_deg"], abs=0.05)
    assert got["end_pressure_pa"] == pytest.approx(want["pressure_at_exhaust_opening_Pa"], rel=check.rtol)
    assert abs(got["energy_error_j"]) < 1e-10 * i["heat_J"]


@each(FILE, "scav-")
def test_scavenging_limits(check: Check) -> None:
    ratio = check.inputs["scavenge_ratio"]
    got = {}
    for name, mixing in (("displacement", 0.0), ("mixing", 1.0)):
        got[f"perfect_{name}_scavenging"] = scavenging.scavenging_efficiency(ratio, mixing)
        got[f"perfect_{name}_trapping"] = scavenging.trapping_efficiency(ratio, mixing)
    assert_close(check, got)


@each(FILE, "woschni-constants")
def test_woschni_constants(check: Check) -> None:
    got = {
        "h_coefficient": woschni.H_COEFFICIENT,
        "bore_exponent": woschni.BORE_EXPONENT,
        "p_exponent": woschni.P_EXPONENT,
        "T_exponent": woschni.T_EXPONENT,
        "w_exponent": woschni.W_EXPONENT,
        "C1_gas_exchange": woschni.C1_GAS_EXCHANGE,
        "C1_compression_to_expansion": woschni.C1_CLOSED,
        "C2_combustion_expansion": woschni.C2_BURNING_M_SK,
        "C2_otherwise": woschni.C2_OTHERWISE_M_SK,
    }
    assert_close(check, got, judged_rtol=1e-12)


@each(FILE, "woschni-0")
def test_woschni(check: Check) -> None:
    i = check.inputs
    h = woschni.heat_coefficient_w_m2k(i["bore_m"], i["p_kPa"], i["T_K"], i["w_m_s"])
    assert_close(check, {"h_W_m2K": h})


@each(FILE, "knock-constants")
def test_knock_constants(check: Check) -> None:
    got = {
        "prefactor_ms": knock.PREFACTOR_MS,
        "octane_exponent": knock.OCTANE_EXPONENT,
        "pressure_exponent": knock.PRESSURE_EXPONENT,
        "activation_temperature_K": knock.ACTIVATION_K,
    }
    assert_close(check, got, judged_rtol=1e-12)


@each(FILE, "knock-tau-")
def test_knock_delay(check: Check) -> None:
    i = check.inputs
    assert_close(check, {"tau_ms": knock.delay_ms(i["octane"], i["p_atm"], i["T_K"])})


@each(FILE, "knock-integral-")
def test_knock_integral(check: Check) -> None:
    i = check.inputs
    gamma, rise = i["gamma"], i["pressure_rise_factor"]
    ms_per_deg = 1e3 / (6.0 * i["rpm"])

    def state(deg: float) -> tuple[float, float]:
        volume = 1 - (1 - 1 / i["volume_ratio"]) * (1 - np.cos(np.pi * min(deg, 100.0) / 100)) / 2
        p = i["p_start_atm"] * volume**-gamma * (1 + (rise - 1) * max(deg - 100.0, 0.0) / 30)
        return p, i["T_start_K"] * (p / i["p_start_atm"]) ** ((gamma - 1) / gamma)

    def add(a: float, b: float) -> float:
        return quad(lambda d: ms_per_deg / knock.delay_ms(i["octane"], *state(d)), a, b, epsrel=1e-12, epsabs=0)[0]

    to_100 = add(0, 100)
    to_130 = to_100 + add(100, 130)
    assert_close(check, {"integral_to_100deg": to_100, "integral_to_130deg": to_130, "knock": to_130 >= 1})
    needed = knock.octane_needed(to_130, i["octane"])
    assert quad(lambda d: ms_per_deg / knock.delay_ms(needed, *state(d)), 0, 130, points=[100], epsrel=1e-10)[
        0
    ] == pytest.approx(1.0, rel=1e-8)


@each(FILE, "fuel-isooctane")
def test_isooctane(check: Check) -> None:
    """Heating value from heats of formation: CO2 and H2O from our data, iso-octane -224.0 kJ/mol (textbook value)."""
    r, t = gas_properties.R_J_MOLK, 298.15
    h = {name: r * t * gas_properties.enthalpy_over_rt(name, t) for name in ("CO2", "H2O", "O2")}
    released = -224.01e3 + 12.5 * h["O2"] - 8 * h["CO2"] - 9 * h["H2O"]
    got = {
        "afr": gas_properties.stoichiometric_afr(),
        "lhv_vapour_MJ_kg": released / gas_properties.molar_mass_g_mol("fuel") / 1e3,
    }
    assert_close(check, got)


@each(FILE, "fuel-gasoline")
def test_gasoline(check: Check) -> None:
    got = {
        "lhv_MJ_kg": fuel.GASOLINE.lhv_j_kg / 1e6,
        "afr_stoichiometric": fuel.GASOLINE.stoichiometric_afr,
        "h_to_c_ratio": fuel.GASOLINE.hydrogen_per_carbon,
    }
    assert_close(check, got)


@each(FILE, "fuel-energy-arith")
def test_energy_of_a_charge(check: Check) -> None:
    i = check.inputs
    mass = fuel.fuel_mass_kg(1e-6 * i["trapped_air_mg"], i["afr"])
    assert_close(check, {"fuel_mg": 1e6 * mass, "heat_J": mass * 1e6 * i["lhv_MJ_kg"]})
    phi = fuel.phi_of_afr(i["afr"])
    charge_kg = 1e-6 * i["trapped_air_mg"] + mass
    assert fuel.heat_of_charge_j_kg(phi, efficiency=1.0) * charge_kg == pytest.approx(
        check.expected["heat_J"], rel=1e-12
    )


@each(FILE, "fuel-flame-temperature")
def test_flame_temperature_without_dissociation_is_too_hot_by_a_known_amount(check: Check) -> None:
    """Our burned gas does not dissociate. At constant volume that makes it 2 to 12 % hotter than equilibrium."""
    from scipy.optimize import brentq

    for phi, _, want, _ in (
        check.expected["rows"]
        if "rows" in check.expected
        else zip(
            *(check.expected[k] for k in ("phi", "T_constant_p_K", "T_constant_V_K", "p_constant_V_Pa")), strict=True
        )
    ):
        burned, fresh = gas_properties.burned_gas(phi), gas_properties.fresh_charge(phi)
        heat = fuel.heat_of_charge_j_kg(phi, fuel.Fuel(44.65e6, gas_properties.stoichiometric_afr(), 2.25), 1.0)

        def miss(t, burned=burned, heat=heat):
            grid = np.linspace(298.15, t, 200)
            cv = [burned.cp_j_kgk(x) - burned.r_j_kgk for x in grid]
            return np.trapezoid(cv, grid) - heat

        assert fresh.r_j_kgk < burned.r_j_kgk
        got = brentq(miss, 1000.0, 3500.0)
        assert 1.02 < got / want < 1.12, (phi, got, want)


def test_every_check_is_run() -> None:
    assert not_run(FILE, __name__) == []
