"""Air, fresh charge and burned gas: composition, heat capacity, and the gas law the kernels calculate with.

Fuel is taken as iso-octane vapour, C8H18, for which the checks were computed. Burned gas of a rich mixture keeps its
carbon monoxide and hydrogen in the water-gas equilibrium of FREEZING_K; no other dissociation. A part of the heat that
real gas above some 2200 K binds by dissociation is therefore missing here; models/wiebe.py says how that is met.
No knobs here.
"""

import math
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources

import numpy as np

from scribeline.kernels.gas import FloatArray

R_J_MOLK = 8.314462618  # exact by the definition of the SI to these digits
N2_PER_O2 = 3.773  # "nitrogen" of dry air, argon and carbon dioxide included (heywood-1988, section 3.2)
AIR_N2_G_MOL = 28.16  # molar mass of that nitrogen (same place)
DRY_AIR = {"N2": 0.78084, "O2": 0.20946, "AR": 0.00934, "CO2": 0.00036}
FREEZING_K = 1740.0  # heywood-1988, section 4.9.2: the water-gas reaction is as good as frozen below this
FIT_FROM_K, FIT_TO_K = 250.0, 2800.0


@dataclass(frozen=True)
class Mixture:
    """Gases by mole fraction; `fuel` is iso-octane vapour. Fractions add up to 1."""

    moles: dict[str, float]

    @property
    def molar_mass_g_mol(self) -> float:
        """Mean molar mass [g/mol]."""
        return sum(x * molar_mass_g_mol(name) for name, x in self.moles.items())

    @property
    def r_j_kgk(self) -> float:
        """Gas constant [J/(kg K)]."""
        return 1e3 * R_J_MOLK / self.molar_mass_g_mol

    def cp_j_kgk(self, t_k: float) -> float:
        """Heat capacity at constant pressure, composition frozen [J/(kg K)]; valid 250 to 3000 K."""
        return sum(x * cp_over_r(name, t_k) for name, x in self.moles.items()) * self.r_j_kgk

    def gamma(self, t_k: float) -> float:
        """Ratio of heat capacities [-], composition frozen."""
        cp = self.cp_j_kgk(t_k)
        return cp / (cp - self.r_j_kgk)

    def sound_m_s(self, t_k: float) -> float:
        """Speed of sound [m/s], composition frozen."""
        return math.sqrt(self.gamma(t_k) * self.r_j_kgk * t_k)


@cache
def _polynomials() -> dict[str, dict[str, list[float]]]:
    text = resources.files("scribeline.data").joinpath("nasa7.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def molar_mass_g_mol(name: str) -> float:
    """Molar mass of one gas [g/mol]; `fuel` is iso-octane."""
    return 114.232 if name == "fuel" else float(_polynomials()[name]["molar_mass"])  # type: ignore[arg-type]


def cp_over_r(name: str, t_k: float) -> float:
    """cp/R of one gas [-] at t_k [K]. Source: data/nasa7.toml; fuel: heywood-1988, table 4.11, from memory."""
    if name == "fuel":
        t = 1e-3 * t_k
        return 4.184 * (-0.55313 + t * (181.62 + t * (-97.787 + t * 20.402)) - 0.03095 / t**2) / R_J_MOLK
    a = _polynomials()[name]["low" if t_k < 1000.0 else "high"]
    return a[0] + t_k * (a[1] + t_k * (a[2] + t_k * (a[3] + t_k * a[4])))


def enthalpy_over_rt(name: str, t_k: float) -> float:
    """Enthalpy over R T [-] of one gas, heat of formation included."""
    a = _polynomials()[name]["low" if t_k < 1000.0 else "high"]
    return a[0] + t_k * (a[1] / 2 + t_k * (a[2] / 3 + t_k * (a[3] / 4 + t_k * a[4] / 5))) + a[5] / t_k


def gibbs_over_rt(name: str, t_k: float) -> float:
    """Gibbs energy over R T [-] of one gas at 1 bar, H/RT - S/R; for equilibria."""
    a = _polynomials()[name]["low" if t_k < 1000.0 else "high"]
    s = a[0] * math.log(t_k) + t_k * (a[1] + t_k * (a[2] / 2 + t_k * (a[3] / 3 + t_k * a[4] / 4))) + a[6]
    return enthalpy_over_rt(name, t_k) - s


def dry_air() -> Mixture:
    """Dry air.

    >>> round(dry_air().cp_j_kgk(300.0), 1)
    1003.5
    """
    return Mixture(dict(DRY_AIR))


def stoichiometric_afr() -> float:
    """Mass of air per mass of iso-octane that burns completely [-]: 12.5 (O2 + 3.773 N2) per C8H18.

    >>> round(stoichiometric_afr(), 2)
    15.13
    """
    return 12.5 * (31.998 + N2_PER_O2 * AIR_N2_G_MOL) / molar_mass_g_mol("fuel")


def vapour_kg_per_kg(vapour_share: float) -> float:
    """Water vapour in air, kg to a kg of dry air, of its mole fraction in the moist air [-].

    >>> round(vapour_kg_per_kg(0.0115893), 6)
    0.007324
    """
    dry_g_mol = (31.998 + N2_PER_O2 * AIR_N2_G_MOL) / (1.0 + N2_PER_O2)
    return vapour_share / (1.0 - vapour_share) * molar_mass_g_mol("H2O") / dry_g_mol


def fresh_charge(phi: float, vapour_share: float = 0.0) -> Mixture:
    """Air with iso-octane vapour; phi : fuel over stoichiometric fuel [-], 0 for plain air.

    vapour_share : mole fraction of water vapour in the air that the fuel was mixed with [-], 0 to 0.1
    """
    air = 12.5 * (1.0 + N2_PER_O2)
    water = air * vapour_share / (1.0 - vapour_share)
    moles = {"fuel": phi, "O2": 12.5, "N2": 12.5 * N2_PER_O2, "H2O": water}
    total = sum(moles.values())
    return Mixture({name: n / total for name, n in moles.items() if n > 0.0 or name == "fuel"})


def burned_gas(phi: float, vapour_share: float = 0.0) -> Mixture:
    """What iso-octane and air leave behind; phi : fuel over stoichiometric fuel [-], 0.5 to 1.6.

    Lean: all carbon to CO2, all hydrogen to H2O, the rest oxygen. Rich: no oxygen left, CO and H2 by the water-gas
    equilibrium CO2 + H2 = CO + H2O at FREEZING_K. Raises ValueError outside the range (beyond it soot and unburned fuel
    would matter). vapour_share : mole fraction of water vapour in the air [-].

    >>> round(burned_gas(1.0).r_j_kgk, 2)
    290.66
    """
    if not 0.5 <= phi <= 1.6:
        raise ValueError(f"phi = {phi}: the burned gas is known from 0.5 to 1.6")
    carbon, hydrogen, oxygen = 8.0 * phi, 9.0 * phi, 25.0  # C, H2 and O atoms per 12.5 O2
    n2 = 12.5 * N2_PER_O2
    water = 12.5 * (1.0 + N2_PER_O2) * vapour_share / (1.0 - vapour_share)  # came in with the air
    if phi <= 1.0:
        moles = {"CO2": carbon, "H2O": hydrogen + water, "O2": 12.5 * (1.0 - phi), "N2": n2}
    else:
        hydrogen, oxygen = hydrogen + water, oxygen + water
        k = math.exp(sum(s * gibbs_over_rt(g, FREEZING_K) for g, s in (("CO2", 1), ("H2", 1), ("CO", -1), ("H2O", -1))))
        # CO = c, so CO2 = carbon - c, H2O = oxygen - 2 carbon + c, H2 = hydrogen - H2O; k CO2 H2 = CO H2O
        w0 = oxygen - 2.0 * carbon
        h0 = hydrogen - w0
        a, b, c0 = k - 1.0, -(k * (carbon + h0) + w0), k * carbon * h0
        c = (-b - math.sqrt(b * b - 4.0 * a * c0)) / (2.0 * a)
        moles = {"CO2": carbon - c, "CO": c, "H2O": w0 + c, "H2": h0 - c, "N2": n2}
    total = sum(moles.values())
    return Mixture({name: n / total for name, n in moles.items() if n > 0.0})


def fitted_cv(mixture: Mixture) -> FloatArray:
    """Cubic cv(T) of the kernels' gas law, shape (4,): least relative squares from 250 to 2800 K."""
    t = np.linspace(FIT_FROM_K, FIT_TO_K, 256)
    cv = np.array([mixture.cp_j_kgk(float(x)) for x in t]) - mixture.r_j_kgk
    powers = np.vander(t, 4, increasing=True)
    scale = np.array([1.0, 1e3, 1e6, 1e9])
    return np.linalg.lstsq(powers / scale / cv[:, None], np.ones_like(t), rcond=None)[0] / scale


def gas_law(phi: float, vapour_share: float = 0.0) -> FloatArray:
    """The kernels' ten numbers for fresh charge and burned gas of one mixture strength, shape (10,).

    phi : fuel over stoichiometric fuel [-], 0.5 to 1.6; vapour_share : mole fraction of water in the air [-]. The cubic
    misses cp by less than 0.8 % from 250 to 2800 K.
    """
    burned, fresh = burned_gas(phi, vapour_share), fresh_charge(phi, vapour_share)
    return np.concatenate([[burned.r_j_kgk, fresh.r_j_kgk], fitted_cv(burned), fitted_cv(fresh)])
