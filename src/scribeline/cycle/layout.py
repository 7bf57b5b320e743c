"""Ducts, ends and volumes as a person would name them, turned into the flat tables the kernels work on.

Only geometry and starting states; nothing here advances in time. SI units.
"""

from dataclasses import dataclass, field

import numpy as np

from scribeline.errors import CycleError
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
from scribeline.kernels.gas import R_BURNED, R_FRESH, FloatArray, energy_mixture, gas_constant
from scribeline.kernels.network import FREE, OUT_OF_STEPS, UNPHYSICAL, WALL, IntArray, march
from scribeline.kernels.volumes import fill_volume

CACHE_LINE = 64  # bytes, and in the widest registers
ABREAST = 8  # numbers in one

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

    face_areas_m2 : shape (cells + 1,), cross section at the faces [m^2]; at a step the smaller of its two sides
    steps : {face: (area left, area right)}, the faces at which the area changes at once [m^2]
    friction_per_m : 2 f / D + K / (2 L) of each cell [1/m], f the Fanning factor, K the bend losses over length L
    heat_per_m : 4 St / D of each cell [1/m], St the Stanton number of the wall heat transfer
    wall_k : wall temperature [K]
    """

    length_m: float
    face_areas_m2: FloatArray
    left: End
    right: End
    steps: dict[int, tuple[float, float]] = field(default_factory=dict)
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
    steps: IntArray
    ratios: FloatArray
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
        gas = self.gas
        t = p / (rho * (gas[R_BURNED] + y * (gas[R_FRESH] - gas[R_BURNED])))
        burned, fresh_e = (t * (c[0] + t * (c[1] / 2 + t * (c[2] / 3 + t * c[3] / 4))) for c in (gas[2:6], gas[6:10]))
        e = burned + y * (fresh_e - burned)
        self.q[RHO, here], self.q[MOM, here] = rho, rho * u
        self.q[ENE, here], self.q[FRE, here] = rho * (e + 0.5 * u * u), rho * y
        self.w[U, here], self.w[P, here], self.w[T, here], self.w[Y, here] = u, p, t, y

    def march(self, duration_s: float, cfl: float = 0.8, most_steps: int = 1_000_000) -> int:
        """Advance by duration_s with everything but the gas at rest; returns the number of time steps.

        Raises CycleError where the gas leaves physical bounds, an end stays unsolved, or the steps run out.
        """
        status, done, unsolved = march(
            self.q, self.w, self.geo, self.gas, self.ends, self.steps, self.ratios, self.opening,
            self.volumes, self.sizes, duration_s, cfl, most_steps,
        )  # fmt: skip
        if status == UNPHYSICAL:
            raise CycleError(f"the gas left physical bounds (density or pressure not positive) at time step {done}")
        if status == OUT_OF_STEPS:
            raise CycleError(
                f"not finished after {most_steps} time steps; the cells may be too short or the gas too hot"
            )
        if unsolved:
            raise CycleError(f"the pressure at a duct end was not found {unsolved} times in {done} time steps")
        return done

    def totals(self) -> FloatArray:
        """Mass [kg], energy [J] and fresh mass [kg] in all ducts and finite volumes, shape (3,)."""
        size = np.zeros(self.q.shape[1])
        live = self.geo[INV_VOL] > 0
        size[live] = 1.0 / self.geo[INV_VOL, live]
        finite = self.sizes > 0
        in_ducts = self.q[[RHO, ENE, FRE]] @ size
        return np.asarray(in_ducts + self.volumes[:3, finite].sum(axis=1))


def aligned(rows: int, columns: int, *, single: bool = False) -> FloatArray:
    """Zeros, shape (rows, columns), beginning at a full cache line; single : in single precision.

    With columns a multiple of ABREAST (in single precision, twice of it) every row does, which makes a step of the
    kernels a tenth cheaper.
    """
    kind = np.dtype(np.float32 if single else np.float64)
    numbers: FloatArray = np.zeros(rows * columns + CACHE_LINE // kind.itemsize, kind)
    start = -numbers.ctypes.data % CACHE_LINE // kind.itemsize
    return np.asarray(numbers[start : start + rows * columns].reshape(rows, columns))


def lay_out(gas: FloatArray, ducts: list[Duct], volumes: list[Volume], p_pa: float, t_k: float) -> Network:
    """Build the tables, every duct filled with burned gas at rest at p_pa [Pa] and t_k [K].

    gas : gas law, shape (10,), see scribeline.kernels.gas
    """
    cells = [len(d.face_areas_m2) - 1 for d in ducts]
    n = -(-(sum(cells) + len(ducts) + 1) // ABREAST) * ABREAST
    q, w, geo = aligned(4, n), aligned(ROWS_W, n), aligned(ROWS_GEO, n)
    w[:] = 1.0
    geo[T_WALL] = 1.0
    r = gas_constant(gas, 0.0)
    q[RHO] = p_pa / (r * t_k)
    q[ENE] = q[RHO] * energy_mixture(gas, t_k, 0.0)
    w[T] = t_k
    ends = np.zeros((2 * len(ducts), 4), np.int64)
    opening = np.zeros((2, 2 * len(ducts)))
    spans: list[slice] = []
    steps: list[int] = []
    ratios: list[tuple[float, float]] = []
    first = 1
    for i, (duct, count) in enumerate(zip(ducts, cells, strict=True)):
        here = slice(first, first + count)
        spans.append(here)
        faces = np.asarray(duct.face_areas_m2, float)
        dx = duct.length_m / count
        left, right = faces[:-1].copy(), faces[1:].copy()
        for face, (before, after) in duct.steps.items():
            right[face - 1], left[face] = before, after
            steps.append(first + face)
            ratios.append((before / faces[face], after / faces[face]))
        area = (left + right + np.sqrt(left * right)) / 3.0  # of a frustum
        geo[INV_DX, here] = 1.0 / dx
        geo[INV_VOL, here] = 1.0 / (area * dx)
        geo[AREA, first : first + count + 1] = faces
        geo[SPREAD, here] = (right - left) / (area * dx)
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
    step_table = np.array(steps, np.int64).reshape(-1, 1)
    ratio_table = np.array(ratios, float).reshape(-1, 2).T.copy()
    return Network(gas, q, w, geo, ends, step_table, ratio_table, opening, table, sizes, spans)
