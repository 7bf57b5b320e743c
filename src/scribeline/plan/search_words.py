"""What is said of a plan, every figure computed: two sentences for each, and what conflicts where there is none."""

from math import isfinite

from scribeline.geometry.work_out import work_out
from scribeline.plan.merits import BY_KEY
from scribeline.plan.phrases import shown
from scribeline.plan.search_judging import SIMULATED, Conflict
from scribeline.plan.search_plans import PlanFound, Searched
from scribeline.plan.search_space import NO_ENGINE, group_of
from scribeline.units import show

NEVER_PROVED = (
    "The simulation behind these figures has never been held against a real engine: believe which plan does more "
    "rather than how much, and prove it with timed runs before the next cut."
)
_COSTS = ("low_nm", "band_kw", "trapped_mg", "octane_margin")
_NOTED = 0.01
"""Share of itself from which on a loss is worth a word. Judgement."""
_SHORT = {
    "exhaust_duration_deg": "exhaust open", "transfer_duration_deg": "transfers open", "blowdown_deg": "blowdown",
    "intake_duration_deg": "intake open", "compression_ratio_trapped": "trapped compression", "squish_gap_mm": "squish",
}  # fmt: skip


def explained(plan: PlanFound, searched: Searched) -> tuple[str, str]:
    """A plan in two sentences: what it gains for how much metal and what brings it; what it moves and costs."""
    return _gains(plan, searched), _costs(plan, searched)


def _gains(plan: PlanFound, searched: Searched) -> str:
    merit, key = searched.goal.number, searched.goal.merit
    before, after = searched.before[key], plan.merits[key]
    words = f"{merit.label} {before:.{merit.digits}f} to {after:.{merit.digits}f} {merit.unit}"
    whole = len(searched.plans) > 1
    if whole and plan is searched.best:
        words += ", the most that was found"
    elif whole:
        words += f", {100 * plan.of_gain:.0f} % of the most that was found"
    if plan.metal_mm == 0.0:
        words += ", and no metal comes off"
    elif whole and plan is not searched.best and isfinite(plan.of_metal):
        words += f" for {100 * plan.of_metal:.0f} % of its metal ({plan.metal_mm:g} mm)"
    else:
        words += f" for {plan.metal_mm:g} mm of metal"
    driver = max(plan.lost, key=lambda name: plan.lost[name], default=None)
    if driver is not None and len(plan.steps) > 1 and plan.lost[driver] > 0.0:
        share = min(plan.lost[driver] / plan.quick_gain, 1.0) if plan.quick_gain > 0.0 else 0.0
        words += f'; without "{driver}" {100 * share:.0f} % of the gain would go'
    return f"{words[0].upper()}{words[1:]}."


def _costs(plan: PlanFound, searched: Searched) -> str:
    moved = []
    for name, words in _SHORT.items():
        if name in plan.geometry:
            a, b = plan.geometry[name]
            unit = "°" if name.endswith("_deg") else " mm" if name.endswith("_mm") else ""
            digits = 2 if name.endswith("_mm") or not unit else 1
            moved.append(f"{words} {a:.{digits}f} to {b:.{digits}f}{unit}")
    costs = []
    for key in _COSTS:
        merit, before, after = BY_KEY[key], searched.before[key], plan.merits[key]
        if key == searched.goal.merit or not isfinite(after - before) or before - after <= _NOTED * abs(before):
            continue
        if merit.unit == "octane":
            costs.append(f"{before - after:.0f} octane of knock margin")
        else:
            costs.append(f"{100 * (before - after) / before:.0f} % of {merit.label}")
    merit = searched.goal.number
    words = f"It changes {', '.join(moved)}" if moved else "It moves no port and no squish"
    words += f"; it costs {' and '.join(costs)}" if costs else "; nothing that is looked at gets worse by a hundredth"
    words += _brings(plan, searched)
    if isfinite(plan.least_gain):
        words += (
            f"; made {plan.tolerance.drawn} times by hand, on engines within the +/-, it gained "
            f"{plan.least_gain:+.{merit.digits}f} to {plan.most_gain:+.{merit.digits}f} {merit.unit}"
        )
    for name, times in plan.tolerance.passed.items():
        words += f", and passed the limit on {_label(searched, name)} {times} time{'s' if times > 1 else ''}"
    return f"{words}."


def _brings(plan: PlanFound, searched: Searched) -> str:
    """What a plan gains beside its goal: often why it stands beside one that gains more."""
    key = "low_nm"
    before, after = searched.before[key], plan.merits[key]
    if key == searched.goal.merit or not isfinite(after - before) or after - before <= _NOTED * abs(before):
        return ""
    return f"; it brings {100 * (after - before) / before:.0f} % more {BY_KEY[key].label}"


CAREFUL = {
    "knock-seizure": "Careful: it raises compression or heat; knock can hole the piston, heat can seize it",
    "rpm-limit": "Careful: it makes the engine turn faster; twice the speed is four times the load",
    "irreversible": "Careful: metal does not grow back; take off less than the number says, then measure",
}
"""In short, beside a plan; the whole caution of that key stands at the end."""


def careful(plan: PlanFound, searched: Searched) -> list[str]:
    """Keys of the cautions that belong beside a plan, by what it raises: compression, speed, heat."""
    keys = []
    before, after = plan.geometry.get("compression_ratio_trapped", (0.0, 0.0))
    groups = {group_of(step) for step in plan.steps}
    if after > before or "pipe" in groups or "ignition" in groups:
        keys.append("knock-seizure")
    if plan.merits["middle_rpm"] > 1.005 * searched.before["middle_rpm"]:
        keys.append("rpm-limit")
    if plan.metal_mm > 0.0:
        keys.append("irreversible")
    return keys


def conflict_words(conflict: Conflict, searched: Searched) -> str:
    """Which limits conflict and by how much: the smallest relaxation of these limits that would do."""
    if set(conflict.passed) == {NO_ENGINE}:
        return "the steps leave no engine that can be worked out"
    out = work_out(searched.space.record, draws=0)
    parts = []
    for name, by in conflict.passed.items():
        unit = out.values[name].unit if name in out.values else "octane" if name == SIMULATED[0] else "ratio"
        parts.append(f"{_label(searched, name)} gives by {show(float(f'{by:.3g}'), unit)}")
    steps = ", ".join(shown(step) for step in conflict.steps) or "the engine as it is"
    if not parts:
        return f"by geometry nothing has to give, with: {steps}; the search did not meet it, so look at it with --do"
    return " and ".join(parts) + f", with: {steps}"


def verdict(searched: Searched) -> str:
    """What came of the search, in one sentence or two."""
    merit, best = searched.goal.number, searched.best
    before = f"{searched.before[searched.goal.merit]:.{merit.digits}f} {merit.unit}"
    if searched.conflicts:
        return (
            "No design that was tried keeps all limits. The least that would do: "
            + "; or: ".join(conflict_words(conflict, searched) for conflict in searched.conflicts)
            + "."
            + (" Smallest first, each as a share of its own limit." if len(searched.conflicts) > 1 else "")
        )
    if best is None:
        return (
            f"Nothing that was tried does clearly better than the engine as it is, {before}: the best that was found."
        )
    after = f"{best.merits[searched.goal.merit]:.{merit.digits}f} {merit.unit}"
    if not searched.reached:
        return (
            f"{searched.goal.least:g} {merit.unit} is out of reach with what may be done here: the best that was found "
            f"is {after}, from {before}."
        )
    count = "one plan" if len(searched.plans) == 1 else f"{len(searched.plans)} plans that differ"
    return f"{merit.label[0].upper()}{merit.label[1:]} from {before} to {after} at most: {count}, the gentlest first."


def _label(searched: Searched, name: str) -> str:
    if name == SIMULATED[0]:
        return "knock margin, simulated"
    worked = work_out(searched.space.record, draws=0).values.get(name)
    return worked.label if worked is not None else name
