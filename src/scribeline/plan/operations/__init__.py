"""Everything a builder can do to an engine, one file for each kind of work."""

from collections.abc import Mapping
from types import MappingProxyType

from scribeline.plan.description import Operation
from scribeline.plan.operations import (
    deck_and_head,
    exhaust_port,
    gaskets,
    intake_port,
    pipe,
    piston,
    running,
    squish_band,
    tract,
    transfer_ports,
)

_ALL = (
    *gaskets.OPERATIONS,
    *deck_and_head.OPERATIONS,
    *squish_band.OPERATIONS,
    *exhaust_port.OPERATIONS,
    *transfer_ports.OPERATIONS,
    *intake_port.OPERATIONS,
    *piston.OPERATIONS,
    *tract.OPERATIONS,
    *pipe.OPERATIONS,
    *running.OPERATIONS,
)
BY_KEY: Mapping[str, Operation] = MappingProxyType({one.key: one for one in _ALL})


def all_operations() -> tuple[Operation, ...]:
    """Every operation, in the order of the pages."""
    return _ALL


def backwards(do: str) -> Operation | None:
    """The operation that a builder names the other way round, so that metal would have to be added; None for no such.

    >>> backwards("lower exhaust roof").key
    'raise exhaust roof'
    """
    return next((one for one in _ALL if do.strip().lower() in one.backwards), None)
