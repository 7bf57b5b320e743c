"""Gasoline: heat and air it needs, and how much heat a trapped charge can give."""

from dataclasses import dataclass

from scribeline.models.relation import Constant, Knob, Range, Relation


@dataclass(frozen=True)
class Fuel:
    """lhv_j_kg : lower heating value, vapour [J/kg]; stoichiometric_afr : mass of air per mass of fuel [-]."""

    lhv_j_kg: float
    stoichiometric_afr: float
    hydrogen_per_carbon: float


# heywood-1988, fuel table, from memory, to 1 %. Fuel with ethanol is lower in both.
GASOLINE = Fuel(44.0e6, 14.6, 1.87)
COMBUSTION_EFFICIENCY = 0.96  # knob; heywood-1988 section 3.5.4: 0.95 to 0.98 of what the oxygen allows


def phi_of_afr(afr: float, fuel: Fuel = GASOLINE) -> float:
    """Fuel over stoichiometric fuel [-] of an air to fuel mass ratio [-].

    >>> round(phi_of_afr(13.0), 3)
    1.123
    """
    return fuel.stoichiometric_afr / afr


def heat_of_charge_j_kg(
    phi: float, fuel: Fuel = GASOLINE, efficiency: float = COMBUSTION_EFFICIENCY, vapour_per_air: float = 0.0
) -> float:
    """Heat that 1 kg of fresh charge (air, its moisture, fuel) gives [J/kg], limited by the fuel or by the oxygen.

    Lean: all fuel burns. Rich: heat goes with the oxygen, LHV/AFR per kg of dry air (most fuels give nearly the same
    heat per kg of oxygen). phi : fuel over stoichiometric fuel of the dry air [-], 0.5 to 1.6; vapour_per_air : kg of
    water vapour to a kg of dry air.

    >>> round(heat_of_charge_j_kg(1.0) / 1e6, 3)
    2.708
    """
    fuel_per_air = phi / fuel.stoichiometric_afr
    burned_per_air = min(phi, 1.0) / fuel.stoichiometric_afr
    return efficiency * fuel.lhv_j_kg * burned_per_air / (1.0 + fuel_per_air + vapour_per_air)


def fuel_mass_kg(air_kg: float, afr: float) -> float:
    """Fuel with a mass of air [kg].

    >>> round(1e6 * fuel_mass_kg(100e-6, 14.6), 5)
    6.84932
    """
    return air_kg / afr


RELATION = Relation(
    "gasoline",
    "heat of the charge, limited by fuel or oxygen",
    ("heywood-1988",),
    (Knob("combustion_efficiency", COMBUSTION_EFFICIENCY, "", "heywood-1988", 0.5, 1.0),),
    (Range("mixture strength", 0.5, 1.6),),
    (
        Constant("lhv_j_kg", GASOLINE.lhv_j_kg, "J/kg", "heywood-1988"),
        Constant("stoichiometric_afr", GASOLINE.stoichiometric_afr, "", "heywood-1988"),
    ),
)
