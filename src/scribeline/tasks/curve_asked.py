"""What a builder asks of a simulation beside the record: knobs turned to other values than those of models/."""

import math
from collections.abc import Sequence
from typing import Any

from scribeline.cycle.engine import KNOBS, Knobs
from scribeline.errors import CycleError

CURVE = "scavenging_curve"


def knobs_of(asked: Sequence[str]) -> Knobs | None:
    """Knobs turned as NAME=VALUE each; None where nothing was asked. Raises CycleError for what is no knob or no value.

    A measured scavenging curve is written as its three coefficients: scavenging_curve=0,-1,-0.2

    >>> knobs_of(["mixing=0.5", "burn_deg=52"]).mixing
    0.5
    """
    turned: dict[str, Any] = {}
    for one in asked:
        name, _, text = (part.strip() for part in one.partition("="))
        values = _numbers(text)
        if name == CURVE and len(values) == 3:
            if not values[1] < 0.0:
                raise _refused(one, f"{CURVE}=K0,K1,K2 with K1 below 0: more charge must sweep out more")
            turned[CURVE] = (values[0], values[1], values[2])
        elif name in KNOBS and len(values) == 1:
            knob = KNOBS[name]
            if not knob.low <= values[0] <= knob.high:
                raise _refused(one, f"{name} from {knob.low:g} to {knob.high:g} {knob.unit}".rstrip())
            turned[name] = values[0]
        elif name in KNOBS or name == CURVE:
            raise _refused(one, f"{name}={'K0,K1,K2' if name == CURVE else 'a number'}")
        else:
            raise _refused(one, f"NAME=VALUE with one of {', '.join(sorted([*KNOBS, CURVE]))}")
    return Knobs(**turned) if turned else None


def _numbers(text: str) -> list[float]:
    try:
        values = [float(part) for part in text.split(",")]
    except ValueError:
        return []
    return values if all(math.isfinite(value) for value in values) else []


def _refused(one: str, accepted: str) -> CycleError:
    return CycleError(f"--knob {one}\n    accepted: {accepted}\n    what to do: write it again")
