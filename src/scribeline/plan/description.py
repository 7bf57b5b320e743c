"""What an operation says of itself: what it changes, by how much, with what, and how it is done.

An operation is one thing a builder can do to an engine. Its `change` is a pure function: record, step and what is at
hand go in, the record that one would expect to measure afterwards comes out.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import IntEnum

from scribeline.engine import EngineRecord
from scribeline.plan.box import Box
from scribeline.plan.steps import Step


class Stage(IntEnum):
    """The order that work is done in: what moves the deck first, since every port line is drawn from it."""

    DECK = 1
    PORTS = 2
    PISTON = 3
    BREATHING = 4
    RUNNING = 5

    @property
    def words(self) -> str:
        return {
            Stage.DECK: "squish and deck",
            Stage.PORTS: "ports",
            Stage.PISTON: "piston",
            Stage.BREATHING: "intake and exhaust",
            Stage.RUNNING: "ignition, fuel and gearing",
        }[self]


@dataclass(frozen=True)
class Amount:
    """A number a step carries: its key in a plan file, unit and accepted range, both ends included.

    metal : True where it is metal taken off: 0 changes nothing, and less than 0 would have to add some
    usual : what is taken where a detail is left out; needed : whether one without `usual` must be given
    """

    key: str
    unit: str
    low: float
    high: float
    what: str
    metal: bool = False
    usual: float | None = None
    needed: bool = True

    @property
    def accepted(self) -> str:
        return f"{self.low:g} to {self.high:g}" + (f" {self.unit}" if self.unit != "ratio" else "")


@dataclass(frozen=True)
class Instruction:
    """One thing to do; `measure` says what to measure here before going on, and is empty where nothing is."""

    do: str
    measure: str = ""


Change = Callable[[EngineRecord, Step, Box], EngineRecord]


@dataclass(frozen=True)
class Operation:
    """One kind of work.

    key : what a plan file calls it; what : one line; stage : when it is done
    targets : what it can be done to on this engine with what is at hand; () where it cannot be done at all, ("",)
        where there is nothing to choose
    change : the pure function
    amount : how much, with the range that no engine leaves; None where it has no amount
    within : the range on this engine's target, where it is narrower
    choices : what can be chosen for a target; None where nothing is chosen
    details : further numbers of the step
    tools, skill : what it needs; undo : whether it can be taken back, and how
    limits : names of the card's numbers that it must respect
    instead : what moves things the other way, said where it would have to add metal
    backwards : what a builder may call the same work the other way round, which would have to add metal
    """

    key: str
    what: str
    stage: Stage
    targets: Callable[[EngineRecord, Box], tuple[str, ...]]
    change: Change
    amount: Amount | None = None
    within: Callable[[EngineRecord, str], tuple[float, float]] | None = None
    choices: Callable[[EngineRecord, str, Box], tuple[str, ...]] | None = None
    details: tuple[Amount, ...] = ()
    tools: tuple[str, ...] = ()
    skill: str = ""
    undo: str = ""
    reversible: bool = False
    limits: tuple[str, ...] = ()
    instead: str = ""
    backwards: tuple[str, ...] = ()
    caution: str = ""
    instructions: tuple[Instruction, ...] = ()

    def __reduce__(self) -> tuple[Callable[[str], "Operation"], tuple[str]]:
        """Pickled by its name: functions cannot be, and there is only one of it."""
        return _by_key, (self.key,)

    def amount_on(self, record: EngineRecord, target: str) -> Amount | None:
        """The amount with the range it has on this engine's target."""
        if self.amount is None or self.within is None:
            return self.amount
        low, high = self.within(record, target)
        return replace(self.amount, low=max(low, self.amount.low), high=min(high, self.amount.high))


def _by_key(key: str) -> Operation:
    from scribeline.plan.operations import BY_KEY

    return BY_KEY[key]


@dataclass(frozen=True)
class Possible:
    """One operation on one target of one engine, with the range or the choices it has there."""

    operation: Operation
    target: str
    amount: Amount | None
    choices: tuple[str, ...]
