import pytest

from scribeline.engine import EXHAUST_ROLES, TRANSFER_ROLES, Measured, Port
from scribeline.engine.ports import Role


@pytest.mark.parametrize(
    ("clock", "mirrored", "clocks"),
    [
        (0.0, False, (0.0,)),
        (360.0, False, (0.0,)),
        (75.0, False, (75.0,)),
        (75.0, True, (75.0, 285.0)),
        (285.0, True, (285.0, 75.0)),
        (180.0, True, (180.0, 180.0)),
        (0.0, True, (0.0, 0.0)),
    ],
)
def test_a_mirrored_port_stands_for_two(clock: float, mirrored: bool, clocks: tuple[float, ...]) -> None:
    port = Port(name="p", role="transfer", clock_deg=Measured(value=clock), mirrored=mirrored)
    assert port.clocks_deg == clocks
    assert port.openings == len(clocks)


def test_exhaust_and_transfer_roles_are_roles_and_share_none() -> None:
    assert {*EXHAUST_ROLES, *TRANSFER_ROLES} < set(Role.__args__)
    assert not {*EXHAUST_ROLES} & {*TRANSFER_ROLES}
