"""What every empirical relation says about itself, as data: what it gives, its numbers, and the range it is known for.

A relation's file ends with its `RELATION`. Whoever runs a simulation can so list all it relied on and say where it went
beyond; see `scribeline.cycle.relied_on`.
"""

from dataclasses import dataclass
from typing import Literal

# What a run can be asked about, with the unit its ranges are written in.
Quantity = Literal[
    "crank speed", "bore", "gas in the cylinder", "residual gas", "delivery ratio", "mixture strength", "octane needed",
    "Reynolds number", "bend tightness", "lift over petal length", "air temperature", "air pressure",
    "squish over piston",
]  # fmt: skip
UNITS: dict[Quantity, str] = {
    "crank speed": "rev/min",
    "bore": "mm",
    "gas in the cylinder": "K",
    "residual gas": "",
    "delivery ratio": "",
    "mixture strength": "",
    "octane needed": "",
    "Reynolds number": "",
    "bend tightness": "",  # bore over twice the middle line's radius
    "lift over petal length": "",
    "air temperature": "°C",
    "air pressure": "hPa",
    "squish over piston": "",  # highest squish velocity over mean piston speed
}


@dataclass(frozen=True)
class Knob:
    """A number of a relation that a test bench would settle: turn it for a reason, and say so.

    low, high : how far turning it makes sense (judgement); further is refused
    usual : what it was before somebody turned it; None where nobody did
    """

    name: str
    value: float
    unit: str
    source: str
    low: float
    high: float
    usual: float | None = None


@dataclass(frozen=True)
class Constant:
    """A number of a relation that is no knob: part of its form, or of what it was fitted with."""

    name: str
    value: float
    unit: str
    source: str


@dataclass(frozen=True)
class Range:
    """Where a relation is known to hold, ends included, in the unit of UNITS."""

    quantity: Quantity
    low: float
    high: float


@dataclass(frozen=True)
class Relation:
    """One empirical relation. sources : keys of the bibliography; ranges : empty where none is known."""

    name: str
    gives: str
    sources: tuple[str, ...]
    knobs: tuple[Knob, ...] = ()
    ranges: tuple[Range, ...] = ()
    constants: tuple[Constant, ...] = ()
