"""Gas properties against Cantera (GRI-Mech 3.0, gri30) and CoolProp (reference equations of real air)."""

import cantera as ct
import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from scribeline.kernels.gas import enthalpy_mixture, gamma_of, gas_constant
from scribeline.models import gas_properties as gp

TEMPERATURES = (300.0, 500.0, 800.0, 1200.0, 1800.0, 2400.0)


@pytest.fixture(scope="module")
def gri() -> ct.Solution:
    return ct.Solution("gri30.yaml")


def cantera_of(gri: ct.Solution, mixture: gp.Mixture, t_k: float) -> ct.Solution:
    gri.TPX = t_k, 101325.0, dict(mixture.moles)
    return gri


@pytest.mark.parametrize("phi", [0.7, 1.0, 1.15, 1.4])
def test_burned_gas_has_canteras_heat_capacity_sound_and_enthalpy(gri: ct.Solution, phi: float) -> None:
    """Same composition: the data agree to 0.2 %; the kernels' cubic to 0.8 % in cv and its integral to 0.3 %.

    Our "nitrogen" holds the argon of the air and is half a per cent heavier than Cantera's.
    """
    burned, law = gp.burned_gas(phi), gp.gas_law(phi)
    cold = cantera_of(gri, burned, 298.15).enthalpy_mass
    for t_k in TEMPERATURES:
        g = cantera_of(gri, burned, t_k)
        assert burned.cp_j_kgk(t_k) == pytest.approx(g.cp_mass, rel=6e-3)
        assert burned.sound_m_s(t_k) == pytest.approx(g.sound_speed, rel=4e-3)
        sound = np.sqrt(gamma_of(law, t_k, 0.0) * gas_constant(law, 0.0) * t_k)
        assert sound == pytest.approx(g.sound_speed, rel=5e-3)
        rise = enthalpy_mixture(law, t_k, 0.0) - enthalpy_mixture(law, 298.15, 0.0)
        if t_k > 400.0:
            assert rise == pytest.approx(g.enthalpy_mass - cold, rel=1.2e-2)


@pytest.mark.parametrize("phi", [1.1, 1.2, 1.4])
def test_rich_burned_gas_is_where_cantera_leaves_it_in_equilibrium(gri: ct.Solution, phi: float) -> None:
    """Brought to equilibrium at the freezing temperature by Cantera, with all its species, it stays as it is."""
    burned = gp.burned_gas(phi)
    gri.TPX = gp.FREEZING_K, 101325.0, dict(burned.moles)
    gri.equilibrate("TP")
    for name in ("CO", "CO2", "H2O", "H2"):
        assert gri[name].X[0] == pytest.approx(burned.moles[name], rel=0.03, abs=5e-4), name


@pytest.mark.parametrize("t_k", [300.0, 400.0, 600.0, 1000.0, 1500.0])
def test_dry_air_against_the_reference_equation_of_state(t_k: float) -> None:
    """Real air at 1 bar; ours is ideal, so its cp lies up to 0.8 % lower where it is cold."""
    air = gp.dry_air()
    assert air.cp_j_kgk(t_k) == pytest.approx(PropsSI("C", "T", t_k, "P", 1e5, "Air"), rel=8e-3)
    assert air.sound_m_s(t_k) == pytest.approx(PropsSI("A", "T", t_k, "P", 1e5, "Air"), rel=3e-3)
    density = 1e5 / (air.r_j_kgk * t_k)
    assert density == pytest.approx(PropsSI("D", "T", t_k, "P", 1e5, "Air"), rel=6e-4)


@pytest.mark.parametrize(("phi", "t_k", "per_cent"), [(1.12, 2200.0, 0.5), (1.12, 2600.0, 3.5), (1.0, 2600.0, 10.0)])
def test_what_dissociation_would_bind_is_as_little_as_the_page_says(
    gri: ct.Solution, phi: float, t_k: float, per_cent: float
) -> None:
    """Energy that equilibrium at 30 bar takes out of our burned gas, over its heat above 25 °C; see
    docs/concepts/gas-dynamics.md."""
    moles = dict(gp.burned_gas(phi).moles)
    gri.TPX = 298.15, 3e6, moles
    cold = gri.int_energy_mass
    gri.TPX = t_k, 3e6, moles
    frozen = gri.int_energy_mass
    gri.equilibrate("TP")
    assert 0.0 < 100.0 * (gri.int_energy_mass - frozen) / (frozen - cold) < per_cent
