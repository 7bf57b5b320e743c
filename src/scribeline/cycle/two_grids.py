"""Long cells that stand in for the fine ones: cheap revolutions towards the periodic state of the fine cells.

Long cells by themselves settle elsewhere. So an engine turns a few times with fine cells; what the last of these does
to the gas otherwise than a revolution of the long cells from the same gas (the defect) is added after each of theirs.
Where the fine cells repeat themselves the long ones then do too: the sums agree, whatever the length of the cells. How
far they move until they settle is added to the fine gas. This is the full approximation scheme of multigrid methods
(brandt-1977), with revolutions in the place of relaxations. What creeps on for a hundred revolutions creeps with long
cells, at a third of the cost; what is left afterwards is judged with the fine ones.
"""

from collections.abc import Callable, Generator
from typing import TYPE_CHECKING

import numpy as np

from scribeline.cycle import turning as tn
from scribeline.errors import CycleError
from scribeline.kernels.duct import ENE, FRE, MOM, RHO
from scribeline.kernels.gas import FloatArray
from scribeline.kernels.network import IntArray

if TYPE_CHECKING:
    from scribeline.cycle.simulate import Running

FIRST = 3  # revolutions with fine cells before the defect is taken; in these the steps that straight lines make settle
LEAST_AHEAD, MOST_AHEAD = 16, 150  # revolutions of the long cells with the defect
TELLS = 24  # after so many, work whose steps still differ by more than a hundredth says that the engine runs unevenly
UNEVEN = 0.01
LEAST_LEFT = 0.5  # of what a cell held: a correction that takes more is none

Gas = tuple[FloatArray, FloatArray]
"""Of all cells in the order of the ducts, (4, cells); and of the volumes."""


class Between:
    """Straight lines from the middles of the cells of one engine to those of another with ducts cut otherwise."""

    def __init__(self, source: "Running", target: "Running") -> None:
        first: list[FloatArray] = []
        weight: list[FloatArray] = []
        for there, here in zip(source.tables.network.spans, target.tables.network.spans, strict=True):
            cells, mine = there.stop - there.start, here.stop - here.start
            x = np.clip((np.arange(mine) + 0.5) / mine * cells - 0.5, 0.0, cells - 1.0)
            left = np.minimum(x.astype(np.int64), cells - 2)
            first.append(left)
            weight.append(x - left)
        starts = np.cumsum([0] + [s.stop - s.start for s in source.tables.network.spans[:-1]])
        self.left: IntArray = np.concatenate([start + one for start, one in zip(starts, first, strict=True)])
        self.weight: FloatArray = np.concatenate(weight)

    def __call__(self, cells: FloatArray) -> FloatArray:
        """What the other's cells hold, (4, cells)."""
        return cells[:, self.left] * (1.0 - self.weight) + cells[:, self.left + 1] * self.weight


class Ahead:
    """One engine with fine and with long cells, whose gas may have as many volumes and ducts."""

    def __init__(self, fine: "Running", longer: "Running") -> None:
        self.fine, self.longer = fine, longer
        self.down, self.up = Between(fine, longer), Between(longer, fine)
        self.before: Gas | None = None
        self.moved = 0.0
        self.carried = fine.tables.numbers[: tn.CARRIED].copy()
        self.fine_cells, self.long_cells = cells_of(fine), cells_of(longer)

    def begin(self) -> None:
        """Note the gas before the revolution with fine cells that the defect is taken from."""
        cells, volumes = gas_of(self.fine, self.fine_cells)
        self.before = self.down(cells), volumes
        self.carried[:] = self.fine.tables.numbers[: tn.CARRIED]

    def turn(self, settled: Callable[[FloatArray, float], bool]) -> Generator["Running", None, int]:
        """Yield the engine with long cells, to be turned, until it has settled; then correct the fine gas.

        settled : asked with what was monitored so far, (revolutions, 4), and the revolutions in which the pipe's gas is
        renewed. Returns the revolutions that took, or 0 where nothing came of it and the fine gas is as it was; `moved`
        is then how far what is monitored has come, relative, worst quantity.
        """
        assert self.before is not None
        fine, longer = self.fine, self.longer
        cells, volumes = gas_of(fine, self.fine_cells)
        after, here = (self.down(cells), volumes), self.long_cells
        history, turned = np.zeros((MOST_AHEAD, 4)), 0
        try:
            put(longer, here, self.before, self.carried)
            yield longer
            defect = after[0] - longer.tables.network.q[:, here], volumes - longer.tables.network.volumes
            put(longer, here, after, fine.tables.numbers[: tn.CARRIED])
            while True:
                yield longer
                history[turned], turned = longer.monitored(), turned + 1
                if not add(longer, here, defect):
                    return 0
                so_far = history[:turned]
                if turned >= LEAST_AHEAD and settled(so_far, longer.renewal()):
                    break
                if turned >= TELLS and np.ptp(np.diff(so_far[-TELLS // 2 :, 0])) > UNEVEN * abs(so_far[-1, 0]):
                    return 0
                if turned == MOST_AHEAD:
                    return 0
        except CycleError:
            return 0
        there, of_volumes = gas_of(longer, here)
        self.moved = float(np.abs(so_far[-1] / so_far[0] - 1.0).max())
        return turned if add(fine, self.fine_cells, (self.up(there - after[0]), of_volumes - volumes)) else 0


def cells_of(running: "Running") -> IntArray:
    """Where the cells of the ducts lie in the tables, in the order of the ducts."""
    return np.concatenate([np.arange(here.start, here.stop) for here in running.tables.network.spans])


def gas_of(running: "Running", here: IntArray) -> Gas:
    """The gas of an engine, copied. here : `cells_of` it"""
    n = running.tables.network
    return n.q[:, here], n.volumes.copy()


def put(running: "Running", here: IntArray, gas: Gas, carried: FloatArray | None = None) -> None:
    """Give an engine gas, and what it carries from one revolution to the next."""
    n = running.tables.network
    n.q[:, here], n.volumes[:] = gas
    if carried is not None:
        running.tables.numbers[: tn.CARRIED] = carried
    running.corrected = True


def add(running: "Running", here: IntArray, more: Gas) -> bool:
    """Add to the gas of an engine; False, and nothing done, where that would take more than half of what is there."""
    old, old_volumes = gas_of(running, here)
    cells, volumes = old + more[0], old_volumes + more[1]
    had = old[ENE] - 0.5 * old[MOM] ** 2 / old[RHO]
    inner = cells[ENE] - 0.5 * cells[MOM] ** 2 / cells[RHO]
    enough = (cells[RHO] > LEAST_LEFT * old[RHO]).all() and (inner > LEAST_LEFT * had).all()
    if not enough or (volumes[:2] < LEAST_LEFT * old_volumes[:2]).any():
        return False
    cells[FRE] = np.minimum(np.maximum(cells[FRE], 0.0), cells[RHO])
    volumes[2] = np.minimum(np.maximum(volumes[2], 0.0), volumes[0])
    put(running, here, (cells, volumes))
    return True
