"""Cells that sound crosses in one time, whatever the gas: the law, its temperatures, and the ducts cut by it."""

import math
from dataclasses import replace

import cantera as ct
import pytest

from scribeline.cycle.engine import Chamber, Conditions, Knobs, Section, tables_of
from scribeline.cycle.simulate import Running, Settings
from scribeline.kernels.duct import INV_DX, T
from scribeline.models.cell_length import CHARGE_K, EXHAUST_K, REFERENCE_K, cell_length_m
from tests.cycle.invented import engine


@pytest.mark.parametrize("gas_k", [EXHAUST_K, CHARGE_K])
def test_cells_grow_as_sound_does_in_air(gas_k: float) -> None:
    """Against the frozen speed of sound in air of Cantera's GRI-Mech 3.0."""
    air = ct.Solution("gri30.yaml")
    speeds = []
    for t_k in (gas_k, REFERENCE_K):
        air.TPX = t_k, ct.one_atm, "O2:0.21, N2:0.79"
        speeds.append(air.sound_speed)
    assert cell_length_m(0.01, gas_k) / 0.01 == pytest.approx(speeds[0] / speeds[1], rel=0.03)


def test_every_duct_is_cut_for_its_gas() -> None:
    """Exhaust, transfers, intake, tube of the airbox, tube of the silencer: to the nearest whole number of cells."""
    some = replace(
        engine(reed=True),
        airbox=Chamber(2e-3, [Section(0.3, 0.04, 0.04)]),
        silencer=Chamber(2e-3, [Section(0.4, 0.022, 0.022)]),
    )
    net = tables_of(some, 9000.0, 0.01, Conditions(), Knobs()).network
    for here, gas_k in zip(net.spans, (EXHAUST_K, CHARGE_K, CHARGE_K, CHARGE_K, EXHAUST_K), strict=True):
        count = here.stop - here.start
        length_m = 1.0 / net.geo[INV_DX, here.start]
        assert length_m * math.sqrt(REFERENCE_K / gas_k) == pytest.approx(0.01, rel=0.5 / count + 1e-9)


@pytest.mark.parametrize("reed", [False, True])
def test_gas_is_about_as_hot_as_it_is_taken_to_be(reed: bool) -> None:
    """Its mean along each duct at exhaust closing."""
    running = Running(engine(reed=reed), 9000.0, Settings(cell_m=0.02))
    for _ in range(20):
        running.turn()
    net = running.tables.network
    hot, warm, cold = (float(net.w[T, here].mean()) for here in net.spans)
    assert hot == pytest.approx(EXHAUST_K, rel=0.15)
    assert warm == pytest.approx(CHARGE_K, rel=0.15)
    assert cold == pytest.approx(CHARGE_K, rel=0.15)
