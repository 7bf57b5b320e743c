"""Fronts between fresh and burned gas that enter a duct from a volume, or leave it, carried along at a known velocity.

Exact solutions: gas of one pressure and one velocity carries its density and its fresh share along unchanged.
"""

import numpy as np
import pytest

from scribeline.cycle.layout import FREE, Duct, End, Volume, lay_out
from scribeline.kernels.gas import perfect_gas

GAMMA, MACH, CELLS = 1.4, 0.2, 40


def carried(ends, volume, rho, fresh, cells_gone):
    """A duct in which all moves right at MACH of gas of density 1, after as many cells; its density and fresh share."""
    u = MACH * np.sqrt(GAMMA)
    net = lay_out(perfect_gas(GAMMA, 1.0), [Duct(1.0, np.ones(CELLS + 1), *ends)], [volume], 1.0, 1.0)
    net.set_duct(0, rho * np.ones(CELLS), u * np.ones(CELLS), np.ones(CELLS), fresh)
    net.march(cells_gone / CELLS / u)
    here = net.spans[0]
    np.testing.assert_allclose(net.w[1, here], 1.0, rtol=1e-7)
    np.testing.assert_allclose(net.w[0, here], u, rtol=1e-6)
    return net.q[0, here], net.w[3, here]


@pytest.mark.parametrize("cells_gone", [1.5, 3.0, 12.0])
def test_a_front_that_enters_is_sharp_from_its_first_cell_on(cells_gone):
    """Fresh gas of density 1 comes from a volume into burned gas of 3.3; misses are in cells of the whole step."""
    at_rest = 1 + 0.5 * (GAMMA - 1) * MACH**2  # its temperature over that of the moving gas
    volume = Volume(at_rest ** (GAMMA / (GAMMA - 1)), at_rest, 1.0)
    rho, fresh = carried((End(0), End(FREE)), volume, 1 / 0.3, 0.0, cells_gone)
    exact = np.clip(cells_gone - np.arange(CELLS), 0, 1)
    assert np.abs(fresh - exact).sum() < 0.65
    assert np.abs((1 / 0.3 - rho) / (1 / 0.3 - 1) - exact).sum() < 0.65
    assert fresh.min() > -1e-9
    assert fresh.max() < 1 + 1e-9


@pytest.mark.parametrize(("half_width_cells", "miss"), [(1.0, 0.03), (4.0, 0.003)])
def test_a_front_leaves_as_it_came(half_width_cells, miss):
    """Steep or gentle, half of it through the end: the last four cells against the exact profile."""

    def profile(x):
        return 0.5 * (1 + np.tanh((x - (CELLS - 6)) / half_width_cells))

    x = np.arange(CELLS) + 0.5
    _, fresh = carried((End(FREE), End(0)), Volume(1.0, 1.0, 1.0), 1.0, profile(x), 6)
    assert np.abs(fresh - profile(x - 6))[-4:].mean() < miss
