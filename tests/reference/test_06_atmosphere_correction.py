"""Every check of 06_atmosphere_correction.toml: standard atmosphere, moist air, factors to standard air."""

import pytest
from CoolProp.CoolProp import PropsSI
from CoolProp.HumidAirProp import HAPropsSI

from scribeline.models import power_correction
from scribeline.models.moist_air import (
    Air,
    air,
    compressibility,
    density_kg_m3,
    enhancement,
    saturation_pa,
)
from scribeline.models.standard_atmosphere import standard_air
from tests.reference.checks import Check, assert_close, each, not_run

FILE = "06_atmosphere_correction"


@each(FILE, "isa-")
def test_standard_atmosphere(check: Check) -> None:
    z = check.inputs["geometric_altitude_m"]
    found = standard_air(z)
    got = {
        "geopotential_m": found.geopotential_m,
        "T_K": found.t_k,
        "p_Pa": found.p_pa,
        "density_kg_m3": found.density_kg_m3,
        "sound_speed_m_s": found.sound_speed_m_s,
        "pressure_if_Z_taken_as_geopotential_Pa": standard_air(z, geopotential=True).p_pa,
    }
    assert_close(check, got)


@each(FILE, "psat-")
def test_saturation_pressure(check: Check) -> None:
    """Ours is the CIPM's; the reference equation is another library's, and the two agree as the check's note says."""
    t_c = check.inputs["t_C"]
    theirs = PropsSI("P", "T", t_c + 273.15, "Q", 0, "Water")
    assert_close(check, {"reference_equation_Pa": theirs, "cipm_formula_Pa": saturation_pa(t_c)})
    assert saturation_pa(t_c) == pytest.approx(theirs, rel=1e-3)


@each(FILE, "humid-")
def test_moist_air(check: Check) -> None:
    t_c, p_pa, rh = (check.inputs[name] for name in ("t_C", "p_Pa", "relative_humidity"))
    found = air(t_c, p_pa, rh)
    share = found.vapour_pa / p_pa
    theirs = 1.0 / HAPropsSI("Vha", "T", t_c + 273.15, "P", p_pa, "R", rh)
    got = {
        "cipm2007_kg_m3": density_kg_m3(t_c, p_pa, share, check.inputs["xCO2"]),
        "coolprop_humid_air_kg_m3": theirs,
        "vapour_mole_fraction": share,
        "vapour_pressure_Pa": found.vapour_pa,
        "compressibility": compressibility(t_c, p_pa, share),
    }
    assert_close(check, got)
    assert found.density_kg_m3 == pytest.approx(theirs, rel=3e-4)
    assert enhancement(t_c, p_pa) > 1.0


def air_of(check: Check) -> Air:
    given = check.inputs
    return Air(given["t_C"], 100.0 * given["barometer_mbar"], 100.0 * given["vapour_pressure_mbar"])


@each(FILE, *(f"corr-{t}" for t in ("25", "15", "30", "10", "35", "20", "5")))
def test_factors(check: Check) -> None:
    of = air_of(check)
    got = {
        "sae_j1349": power_correction.sae_j1349(of),
        "ece_r85_iso1585_si": power_correction.iso_1585(of),
        "din_70020": power_correction.din_70020(of),
        "ece_within_validity": not power_correction.outside(power_correction.STANDARDS["iso-1585"], of),
        "dry_pressure_mbar": of.dry_pa / 100.0,
        "dry_density_ratio_only": 99_000.0 / of.dry_pa * (of.t_c + 273.0) / 298.0,
    }
    assert_close(check, got)


@each(FILE, "corr-reference-states", "corr-validity", "corr-identity")
def test_reference_states_and_limits(check: Check) -> None:
    expected = check.expected
    iso = power_correction.STANDARDS["iso-1585"]
    assert iso.t_c is not None
    assert iso.factors is not None
    at_reference = Air(25.0, 100_000.0, 1_000.0)
    got = {
        "sae_iso_ece_t_C": at_reference.t_c,
        "sae_iso_ece_dry_kPa": at_reference.dry_pa / 1e3,
        "total_kPa": at_reference.p_pa / 1e3,
        "vapour_kPa": at_reference.vapour_pa / 1e3,
        "din_t_C": 20.0,
        "din_mbar": 1013.0,
        "ece_factor_low": iso.factors[0],
        "ece_factor_high": iso.factors[1],
        "test_T_low_K": iso.t_c[0] + 273.15,
        "test_T_high_K": iso.t_c[1] + 273.15,
        "sae_at_reference": power_correction.sae_j1349(at_reference),
        "ece_at_reference": power_correction.iso_1585(at_reference),
        "din_at_reference": power_correction.din_70020(Air(20.0, 101_300.0, 0.0)),
    }
    chosen = {name: got[name] for name in expected}
    own = check.rtol is not None or check.atol is not None
    assert_close(check, chosen, None if own else 2e-4)  # the regulation rounds 283.15 K to 283.2 K


def test_every_check_is_run() -> None:
    assert not_run(FILE, __name__) == []
