"""A step in one line, as a builder would say it, written and read.

raise exhaust roof at exhaust: 1.2 mm
swap head gasket: "fitted 1 + thin copper"
raise transfer roof at all transfers: 0.4 mm, roof_angle_deg 12
"""

import difflib
import re
from typing import cast

from scribeline.errors import PlanError, Problem, TypedValueError
from scribeline.plan.description import Amount
from scribeline.plan.operations import BY_KEY, backwards
from scribeline.plan.steps import Step
from scribeline.units import RecordUnit, read_quantity

METAL_OFF = "work that takes metal off"
ADDS_METAL = "this would have to add metal, and metal does not grow back; instead:"
_ACCEPTED = 'OPERATION [at TARGET][: AMOUNT and unit][, "CHOICE"][, DETAIL NUMBER]'


def shown(step: Step) -> str:
    """A step in one line; `read_step` reads it back.

    >>> shown(Step("raise exhaust roof", "exhaust", 1.2))
    'raise exhaust roof at exhaust: 1.2 mm'
    """
    operation = BY_KEY.get(step.do)
    words = step.do + (f" at {step.at}" if step.at else "")
    parts = [f'"{step.choice}"'] if step.choice else []
    if step.amount is not None:
        unit = operation.amount.unit if operation and operation.amount else "ratio"
        parts.append(number(step.amount) + ("" if unit == "ratio" else f" {unit}"))
    parts += [f"{key} {number(value)}" for key, value in step.details]
    return words + (": " + ", ".join(parts) if parts else "")


def number(value: float) -> str:
    """A number in as few digits as give it back, to a ten-thousandth."""
    return f"{round(value, 4):.10g}"


def read_step(text: str) -> Step:
    """Read one step typed in one line; a length may be typed in any unit that `units` reads. Raises PlanError.

    >>> read_step('swap head gasket: "fitted 1"').choice
    'fitted 1'
    """
    head, _, tail = text.strip().partition(":")
    do = next((key for key in sorted(BY_KEY, key=len, reverse=True) if re.match(rf"{key}(?: at |\s*$)", head)), None)
    if do is None:
        other = backwards(head.partition(" at ")[0])
        if other is not None:
            raise PlanError([Problem("step", None, text, METAL_OFF, f"{ADDS_METAL} {other.instead}")])
        close = difflib.get_close_matches(head.partition(" at ")[0].strip(), BY_KEY, n=1, cutoff=0.4)
        remedy = f"did you mean {close[0]}?" if close else "see what can be done with --can"
        raise _refused(text, "one of: " + ", ".join(BY_KEY), remedy)
    operation, at = BY_KEY[do], head.strip().removeprefix(do).strip().removeprefix("at ").strip()
    amount, choice, details = None, "", {}
    by_key = {one.key: one for one in operation.details}
    for part in _parts(tail):
        key, _, value = part.partition(" ")
        if part.startswith('"') and part.endswith('"') and len(part) > 1:
            choice = part[1:-1]
        elif key in by_key:
            details[key] = _number(text, value, by_key[key])
        elif operation.amount is not None and amount is None:
            amount = _number(text, part, operation.amount)
        else:
            known = ", ".join([*by_key, *(['"a choice in quotation marks"'] if operation.choices else [])])
            raise _refused(text, known or "nothing more", f"take out: {part}")
    return Step(do, at, amount, choice, tuple(sorted(details.items())))


def _parts(tail: str) -> list[str]:
    """What stands between commas, where no quotation mark or decimal comma is: "0,5 mm" stays whole."""
    return [part.strip() for part in re.findall(r'(?:"[^"]*"|,(?=\d)|[^,"])+', tail) if part.strip()]


def _number(text: str, typed: str, amount: Amount) -> float:
    try:
        return read_quantity(typed, cast(RecordUnit, amount.unit)).value
    except TypedValueError as error:
        raise _refused(text, f"{amount.key}: {amount.accepted}", re.sub(r"\n\s*", "; ", str(error))) from None


def _refused(text: str, accepted: str, remedy: str) -> PlanError:
    return PlanError([Problem("step", None, text, f"{_ACCEPTED}; {accepted}", remedy)])
