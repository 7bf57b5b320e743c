"""Ducts, ends and volumes as a person would name them, turned into the flat tables the kernels work on.

Only geometry and starting states; nothing here advances in time. SI units.
"""

from dataclasses import dataclass, field

import numpy as np

from scribeline.kernels.duct import (
    AREA,
    ENE,
    FRE,
    FRICTION,
    HEAT,
    INV_DX,
    INV_VOL,
    MOM,
    RHO,
    ROWS_GEO,
    ROWS_W,
    SPREAD,
    T_WALL,
    P,
    T,
    U,
    Y,
)
from scribeline.kernels.gas import FloatArray, energy_mixture, gas_constant
from scribeline.kernels.network import FREE, WALL, IntArray
from scribeline.kernels.volumes import fill_volume

__all__ = ["FREE", "WALL", "Duct", "End", "Network", "Volume", "lay_out"]


@dataclass(frozen=True)
class Volume:
    """A rigid volume of gas; size_m3 None is the open air, whose state never changes.

    p_pa : pressure [Pa]; t_k : temperature [K]; fresh : fresh mass fraction [-]
    """

    p_pa: float
    t_k: float
    fresh: float = 0.0
    size_m3: float | None = None


@dataclass(frozen=True)
class End:
    """What a duct meets: WALL, FREE or the number of a volume, through a nozzle of the given opening.

    opening_out, opening_in : throat over duct area, discharge coefficient included [-], by direction of flow
    """

    meets: int
    opening_out: float = 1.0
    opening_in: float = 1.0


@dataclass(frozen=True)
class Duct:
    """One duct cut into equal cells.

    face_areas_m2 : shape (cells + 1,), cross section at the faces [m^2]
    cell_areas_m2 : shape (cells,), mean cross section of each cell [m^2]; None takes the frustum between the faces
    friction_per_m : 2 f / D + K / (2 L) of each cell [1/m], f the Fanning factor, K the bend losses over length L
    heat_per_m : 4 St / D of each cell [1/m], St the Stanton number of the wall heat transfer
    wall_k : wall temperature [K]
    """

    length_m: float
    face_areas_m2: FloatArray
    left: End
    right: End
    cell_areas_m2: FloatArray | None = None
    friction_per_m: FloatArray | float = 0.0
    heat_per_m: FloatArray | float = 0.0
    wall_k: FloatArray | float = 300.0


@dataclass
class Network:
    """The kernels' tables for one set of ducts and volumes; see scribeline.kernels for rows and columns."""

    gas: FloatArray
    q: FloatArray
    w: FloatArray
    geo: FloatArray
    ends: IntArray
    opening: FloatArray
    volumes: FloatArray
    sizes: FloatArray
    spans: list[slice] = field(default_factory=list)
    """For each duct, where its cells lie in the tables."""

    def set_duct(self, duct: int, rho: FloatArray, u: FloatArray, p: FloatArray, fresh: FloatArray | float) -> None:
        """Fill one duct with density [kg/m^3], velocity [m/s], pressure [Pa] and fresh fraction, shape (cells,)."""
        here = self.spans[duct]
        rho, u, p = np.asarray(rho, float), np.asarray(u, float), np.asarray(p, float)
        y = np.broadcast_to(np.asarray(fresh, float), rho.shape)
        r = np.array([gas_constant(self.gas, float(yi)) for yi in y])
        t = p / (rho * r)
        e = np.array([energy_mixture(self.gas, float(ti), float(yi)) for ti, yi in zip(t, y, strict=True)])
        self.q[RHO, here], self.q[MOM, here] = rho, rho * u
        self.q[ENE, here], self.q[FRE, here] = rho * (e + 0.5 * u * u), rho * y
        self.w[U, here], self.w[P, here], self.w[T, here], self.w[Y, here] = u, p, t, y

    def totals(self) -> FloatArray:
        """Mass [kg], energy [J] and fresh mass [kg] in all ducts and finite volumes, shape (3,)."""
        size = np.zeros(self.q.shape[1])
        live = self.geo[INV_VOL] > 0
        size[live] = 1.0 / self.geo[INV_VOL, live]
        finite = self.sizes > 0
        in_ducts = self.q[[RHO, ENE, FRE]] @ size
        return np.asarray(in_ducts + self.volumes[:3, finite].sum(axis=1))


def lay_out(gas: FloatArray, ducts: list[Duct], volumes: list[Volume], p_pa: float, t_k: float) -> Network:
    """Build the tables, every duct filled with burned gas at rest at p_pa [Pa] and t_k [K].

    gas : gas law, shape (10,), see scribeline.kernels.gas
    """
    cells = [len(d.face_areas_m2) - 1 for d in ducts]
    n = sum(cells) + len(ducts) + 1
    q, w, geo = np.zeros((4, n)), np.ones((ROWS_W, n)), np.zeros((ROWS_GEO, n))
    geo[T_WALL] = 1.0
    r = gas_constant(gas, 0.0)
    q[RHO] = p_pa / (r * t_k)
    q[ENE] = q[RHO] * energy_mixture(gas, t_k, 0.0)
    w[T] = t_k
    ends = np.zeros((2 * len(ducts), 4), np.int64)
    opening = np.zeros((2, 2 * len(ducts)))
    spans: list[slice] = []
    first = 1
    for i, (duct, count) in enumerate(zip(ducts, cells, strict=True)):
        here = slice(first, first + count)
        spans.append(here)
        faces = np.asarray(duct.face_areas_m2, float)
        dx = duct.length_m / count
        if duct.cell_areas_m2 is None:
            area = (faces[:-1] + faces[1:] + np.sqrt(faces[:-1] * faces[1:])) / 3.0
        else:
            area = np.asarray(duct.cell_areas_m2, float)
        geo[INV_DX, here] = 1.0 / dx
        geo[INV_VOL, here] = 1.0 / (area * dx)
        geo[AREA, first : first + count + 1] = faces
        geo[SPREAD, here] = np.diff(faces) / (area * dx)
        geo[FRICTION, here], geo[HEAT, here], geo[T_WALL, here] = duct.friction_per_m, duct.heat_per_m, duct.wall_k
        for side, end in enumerate((duct.left, duct.right)):
            cell = first if side == 0 else first + count - 1
            ends[2 * i + side] = cell, 1 - 2 * side, end.meets, cell + side
            opening[:, 2 * i + side] = end.opening_out, end.opening_in
        first += count + 1
    table = np.zeros((4, len(volumes)))
    sizes = np.zeros(len(volumes))
    for v, volume in enumerate(volumes):
        size = 1.0 if volume.size_m3 is None else volume.size_m3
        table[:3, v] = fill_volume(gas, volume.p_pa, volume.t_k, volume.fresh, size)
        table[3, v] = volume.t_k
        sizes[v] = -size if volume.size_m3 is None else size
    return Network(gas, q, w, geo, ends, opening, table, sizes, spans)
