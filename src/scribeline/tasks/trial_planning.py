"""Before the day: how many runs show a difference of a size, in which order, and what to hold constant."""

import math
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

from scribeline.data.cautions import Caution, cautions_for
from scribeline.errors import TrialError
from scribeline.trials.planning import POWER, detectable_two, directions_of, left_of_drift, order_of, runs_needed
from scribeline.units import read_quantity

CONSTANT = (
    "fuel and oil from one can; fill up before, so that the mass hardly changes",
    "tyre pressure, chain and brakes: check before the first run and after the last",
    "the same rider, clothes and posture; the same stretch, begun at the same mark",
    "warm the engine the same way before each run, and wait the same time",
    "write down for each run: its place in the day, direction, time, temperature, and whatever went wrong",
    "change one thing between the setups, or you will not know which it was",
)
"""Common practice, no source."""


@dataclass(frozen=True)
class Plan:
    """How to drive a comparison.

    runs : of each setup; exact : before rounding up; order, directions : one entry for each run of the day
    left_of_drift : how much of a drift of 1 a run is left in the difference
    smaller : for some numbers of runs, the smallest difference they show four times in five
    """

    difference: float
    scatter: float
    unit: str
    runs: int
    exact: float
    order: tuple[str, ...]
    directions: tuple[str, ...]
    left_of_drift: float
    smaller: tuple[tuple[int, float], ...]
    cautions: tuple[Caution, ...]


def plan_runs(
    difference: float, scatter: float, setups: Sequence[str] = ("A", "B"), unit: str = "s", power: float = POWER
) -> Plan:
    """How many runs of each setup show a difference of this size, and the order to drive them in.

    difference, scatter : same unit; the scatter is the standard deviation of one run, 1 % of the time is usual for a
        careful rider (judgement). With several setups p is shared out among the comparisons (Bonferroni).
    Raises TrialError for fewer than two setups and a power outside 0.5 to 0.99.
    """
    if len(set(setups)) < 2 or not 0.5 <= power <= 0.99:
        raise TrialError(
            f"{len(set(setups))} setups, power {power:g}\n    accepted: two setups or more, 0.5 to 0.99\n"
            "    what to do: name the setups"
        )
    alpha = 0.05 / (len(set(setups)) - 1)
    exact = runs_needed(difference, scatter, alpha, power)
    runs = max(math.ceil(exact - 1e-9), 3)
    runs += runs % 2  # an even number: both directions, and the turns come out whole
    order = order_of(list(dict.fromkeys(setups)), runs)
    listed = tuple((n, detectable_two(n, scatter, alpha, power)) for n in sorted({3, 4, 6, 8, 12, runs}))
    return Plan(
        difference, scatter, unit, runs, exact, tuple(order), tuple(directions_of(order)), left_of_drift(order), listed,
        tuple(cautions_for("run-test")),
    )  # fmt: skip


def plan_for(difference: str, scatter: str, setups: str) -> Plan:
    """`plan_runs` from what was typed: two times, and names with commas between. Raises as it does, or TypedValueError.

    >>> plan_for("0,15", "0.08", "stock, cut").order[:3]
    ('stock', 'cut', 'cut')
    """
    wanted, spread = (
        read_quantity(text, "s", decimal="," if "," in text else ".").value for text in (difference, scatter)
    )
    return plan_runs(wanted, spread, [one.strip() for one in setups.split(",") if one.strip()])


def plan_sentence(plan: Plan) -> str:
    """How many runs, and what for, in one sentence."""
    return (
        f"To show a difference of {plan.difference:g} {plan.unit} four times in five, where single runs scatter by "
        f"{plan.scatter:g} {plan.unit}: {plan.runs} runs of each setup ({plan.exact:.1f} before rounding up to an even "
        "number)."
    )


def plan_text(plan: Plan, width: int = 100) -> str:
    """The plan for the day, as text."""
    setups = list(dict.fromkeys(plan.order))
    lines = [
        f"To show a difference of {plan.difference:g} {plan.unit} four times in five, where single runs scatter by "
        f"{plan.scatter:g} {plan.unit}:",
        f"{plan.runs} runs of each setup ({plan.exact:.1f} before rounding up to an even number).",
        "",
        "IN THIS ORDER, so that a straight drift does no setup a favour",
    ]
    if len(plan.order) <= 40:
        cells = [f"{name} {way}" for name, way in zip(plan.order, plan.directions, strict=True)]
        wide = max(map(len, cells)) + 2
        per_row = max((width - 2) // wide // (2 * len(setups)), 1) * 2 * len(setups)
        lines += [
            "  " + "".join(c.ljust(wide) for c in cells[i : i + per_row]).rstrip()
            for i in range(0, len(cells), per_row)
        ]
    else:
        once = " ".join(plan.order[: 2 * len(setups)])
        lines.append(f"  {once}, and again, {plan.runs // 2} times; each setup up and down in turn")
    if plan.left_of_drift:
        lines.append(f"  {plan.left_of_drift:g} of a drift of 1 a run is left over: write the place of each run down")
    lines += ["", "WHAT SO MANY RUNS OF EACH SETUP SHOW, four times in five"]
    lines += [f"  {n:>4}  {size:.2g} {plan.unit}" for n, size in plan.smaller]
    lines += ["", "HOLD CONSTANT"]
    for one in CONSTANT:
        lines += textwrap.wrap(one, width, initial_indent="  - ", subsequent_indent="    ")
    lines += ["", "CAUTIONS"]
    for caution in plan.cautions:
        lines += textwrap.wrap(caution.text, width, initial_indent="  * ", subsequent_indent="    ")
    return "\n".join(lines)
