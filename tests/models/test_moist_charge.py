"""Moist air in the charge: against Cantera's own mixtures and against conservation of the atoms."""

import cantera as ct
import pytest

from scribeline.cycle.engine import Conditions
from scribeline.cycle.simulate import Settings, simulate
from scribeline.errors import CycleError
from scribeline.models.fuel import GASOLINE, heat_of_charge_j_kg
from scribeline.models.gas_properties import (
    burned_gas,
    fresh_charge,
    gas_law,
    molar_mass_g_mol,
    vapour_kg_per_kg,
)
from tests.cycle.invented import engine

ATOMS = {"CO2": (1, 0, 2), "CO": (1, 0, 1), "H2O": (0, 2, 1), "H2": (0, 2, 0), "O2": (0, 0, 2), "N2": (0, 0, 0),
         "fuel": (8, 18, 0)}  # fmt: skip


def atoms(mixture, mass_g: float = 1.0) -> list[float]:
    """Moles of carbon, hydrogen and oxygen in so much gas."""
    total = mass_g / mixture.molar_mass_g_mol
    return [total * sum(x * ATOMS[name][i] for name, x in mixture.moles.items()) for i in range(3)]


@pytest.mark.parametrize("phi", [0.8, 1.0, 1.2])
@pytest.mark.parametrize("vapour", [0.0, 0.02, 0.05])
def test_burning_keeps_every_atom(phi: float, vapour: float) -> None:
    assert atoms(burned_gas(phi, vapour)) == pytest.approx(atoms(fresh_charge(phi, vapour)), rel=1e-4)


@pytest.mark.parametrize("vapour", [0.01, 0.04])
@pytest.mark.parametrize("t_k", [300.0, 1200.0])
def test_gas_constant_and_heat_capacity_of_moist_air_as_cantera_has_them(vapour: float, t_k: float) -> None:
    gas = ct.Solution("gri30.yaml")
    dry = 1.0 - vapour
    gas.TPX = t_k, 101325.0, f"O2:{dry / 4.773}, N2:{dry * 3.773 / 4.773}, H2O:{vapour}"
    ours = fresh_charge(0.0, vapour)
    # our "nitrogen" holds the argon of the air and is heavier by half a per cent
    assert ours.r_j_kgk == pytest.approx(ct.gas_constant / gas.mean_molecular_weight, rel=5e-3)
    assert ours.cp_j_kgk(t_k) == pytest.approx(gas.cp_mass, rel=6e-3)
    rise = ours.r_j_kgk / fresh_charge(0.0).r_j_kgk
    assert rise == pytest.approx(1.0 / (1.0 - vapour * (1.0 - 18.015 / 28.96)), rel=2e-4)


def test_vapour_by_mass_is_the_textbook_humidity_ratio() -> None:
    """0.622 x / (1 - x), ratio of the molar masses of water and dry air (any text on humid air)."""
    for share in (0.005, 0.02, 0.06):
        assert vapour_kg_per_kg(share) == pytest.approx(18.015 / 28.96 * share / (1.0 - share), rel=2e-3)
    assert molar_mass_g_mol("H2O") == pytest.approx(18.015, rel=1e-4)


def test_vapour_takes_the_place_of_air_that_could_burn() -> None:
    dry, moist = (heat_of_charge_j_kg(1.1, GASOLINE, 1.0, v) for v in (0.0, 0.02))
    fuel_per_air = 1.1 / GASOLINE.stoichiometric_afr
    assert moist / dry == pytest.approx((1.0 + fuel_per_air) / (1.02 + fuel_per_air), rel=1e-12)
    assert gas_law(1.1, 0.03)[1] > gas_law(1.1)[1]


def test_damp_air_costs_about_the_power_that_it_takes_of_oxygen() -> None:
    """At the same barometer: 3 % of vapour by volume is 3 % less oxygen."""
    coarse = {"cell_m": 0.02}
    dry = simulate(engine(), 8000.0, Settings(**coarse))
    damp = simulate(engine(), 8000.0, Settings(**coarse, air=Conditions(vapour_share=0.03)))
    assert 0.94 < damp.imep_pa / dry.imep_pa < 0.985


@pytest.mark.parametrize(
    ("air", "words"),
    [
        (Conditions(p_pa=4e4), "air pressure"),
        (Conditions(t_k=400.0), "air temperature"),
        (Conditions(vapour_share=0.3), "share of water vapour"),
    ],
)
def test_air_that_nobody_breathes_is_refused(air: Conditions, words: str) -> None:
    with pytest.raises(CycleError, match=words):
        simulate(engine(), 8000.0, Settings(air=air))
