"""A plan as plain text: what changes and what it passes, then the staged cut list for the bench."""

import textwrap
from collections.abc import Iterator
from typing import TYPE_CHECKING

from scribeline.plan.cut_list import CutStep, Line, Width
from scribeline.plan.description import Amount, Possible
from scribeline.plan.from_here import THERE_MM
from scribeline.plan.limits import simulated_limits
from scribeline.plan.not_held import not_held_words
from scribeline.plan.phrases import shown
from scribeline.plan.what_if import Moved
from scribeline.sources import source
from scribeline.tasks.plan import Planned
from scribeline.units import Units, in_inches, length, show, show_in, with_inches

if TYPE_CHECKING:  # the simulation is loaded where a curve is asked for, not before
    from scribeline.tasks.curve import Curve

WIDTH = 100
AS_MEANT = f"What was done came out as it was meant, within {THERE_MM:g} mm: what is left is as it was planned."
_LABEL = 50


def plan_text(made: Planned, curves: "tuple[Curve, Curve] | None" = None, units: Units = "mm") -> str:
    """The plan, at most WIDTH characters wide. units : what lengths are written in"""
    done = made.done
    lines = [*_title(made), ""]
    for statement in done.statements:
        lines += _item("!", with_inches(statement.text, units), 0)
    if made.rest:
        lines += ["WORKED OUT AGAIN FROM THE ENGINE AS IT IS"]
        for note in made.rest.notes or (AS_MEANT,):
            lines += _item("-", with_inches(note, units))
        lines += [""]
    lines += ["STEPS THAT ARE LEFT, COUNTED ANEW" if made.rest else "STEPS, IN THE ORDER THEY ARE DONE"]
    for number, step in enumerate(done.steps, start=1):
        lines += _item(f"{number}.", in_inches(shown(step), units))
    for one in done.reordered:
        lines += _item("~", in_inches(f"{shown(one.step)} was written as number {one.written}: {one.why}.", units))
    if not done.steps:
        lines += ["  nothing is left to do"]
    lines += ["", *_moved(done.moved, units), ""]
    lines += _passed(made, units)
    if curves is not None:
        lines += [*_curves(*curves), *_knocks(made, curves[1]), ""]
    if made.list is not None:
        for cut in made.list.steps:
            lines += [*cut_step_text(cut, units), ""]
    lines += ["CAUTIONS"]
    for caution in made.cautions:
        lines += _item("*", with_inches(caution.text, units))
    return "\n".join(lines)


def possible_text(found: tuple[Possible, ...]) -> str:
    """What can be done to an engine, one line for each operation and target, as it is typed after --do."""
    lines: list[str] = []
    stage = None
    for one in found:
        if one.operation.stage is not stage:
            stage = one.operation.stage
            lines += ["", stage.words.upper()]
        at = f" at {one.target}" if one.target else ""
        lines += _item("-", f"{one.operation.key}{at}{_range(one.amount)}{_choices(one)}{_details(one)}")
    return "\n".join(lines).lstrip("\n")


def _range(amount: Amount | None) -> str:
    return f": {amount.accepted}" if amount else ""


def _choices(one: Possible) -> str:
    return ": " + " | ".join(f'"{choice}"' for choice in one.choices) if one.choices else ""


def _details(one: Possible) -> str:
    return "".join(f", {detail.key} {detail.accepted}" for detail in one.operation.details)


def _title(made: Planned) -> Iterator[str]:
    record = made.record
    yield f"{made.done.plan.name}: {record.name}{' (INVENTED, for demonstration)' if record.invented else ''}"
    yield f"worked out at {record.speed_rpm:g} rpm, by geometry; nothing was cut, nothing was run"


def _item(mark: str, text: str, indent: int = 2) -> list[str]:
    lead = " " * indent + mark + " "
    return textwrap.wrap(text, WIDTH, initial_indent=lead, subsequent_indent=" " * len(lead))


def _moved(moved: tuple[Moved, ...], units: Units) -> Iterator[str]:
    yield "WHAT MOVES" + " " * (_LABEL - 8) + f"{'before':>16}{'after':>16}{'by':>16}"
    for one in moved:
        if one.inner:
            continue
        label = textwrap.wrap(one.label, _LABEL - 2)
        for words in label[:-1]:
            yield f"  {words}"
        numbers = "".join(
            f"{numbered(v, one.unit, units):>{w}}" for v, w in ((one.before, 16), (one.after, 16), (one.by, 16))
        )
        yield f"  {label[-1]:<{_LABEL}}{numbers}"


def numbered(value: float | None, unit: str, units: Units = "mm") -> str:
    """A number of the card with its unit and as many digits as are told of a plan; "none" where there is none.

    >>> numbered(1.4275, "mm"), numbered(1.4275, "mm", "inch")
    ('1.43 mm', '0.056 in')
    """
    if value is None:
        return "none"
    if unit == "mm":
        return length(value, units)
    digits = {"deg": 2, "mm2": 1, "cc": 2, "ratio": 2, "km/h": 1, "m/s": 2, "kW": 2}.get(unit)
    if digits is None:
        return show(float(f"{value:.4g}"), unit)
    return f"{value:.{digits}f}" + show(1.0, unit).removeprefix("1")


def changed(by: float | None, unit: str, units: Units = "mm") -> str:
    """A change with its sign; nothing where there is none."""
    if by is None or abs(by) < _SEEN:
        return ""
    return ("+" if by > 0 else "\N{MINUS SIGN}") + numbered(abs(by), unit, units)


_SEEN = 5e-4


def _passed(made: Planned, units: Units) -> Iterator[str]:
    before = {warning.about for warning in made.done.warnings_before}
    after = {warning.about for warning in made.done.warnings_after}
    gone = [warning for warning in made.done.warnings_before if warning.about not in after]
    if not made.done.warnings_after and not gone:
        yield "No limit is passed, before or after."
        yield from _missing(made)
        yield ""
        return
    yield "LIMITS"
    for warning in gone:
        yield from _item("+", with_inches(f"no longer: {warning.message} [{source(warning.source).kind}]", units))
    for warning in made.done.warnings_after:
        new = "" if warning.about in before else "NEW: "
        yield from _item("!", with_inches(f"{new}{warning.message} [{source(warning.source).kind}]", units))
        yield from _item(">", with_inches(f"{warning.remedy[0].upper()}{warning.remedy[1:]}.", units), indent=4)
    yield from _missing(made)
    yield ""


def _missing(made: Planned) -> list[str]:
    words = not_held_words(made.done.after, made.done.plan.limits)
    return _item("~", words) if words else []


def _curves(before: "Curve", after: "Curve") -> Iterator[str]:
    yield "POWER, kW, SIMULATED (the whole curves: scribeline curve)"
    yield f"  {'rpm':>7}{'before':>10}{'after':>10}{'by':>10}   knock margin, octane: before, after"
    for a, b in zip(before.points, after.points, strict=True):
        powers = [p.result.power_w / 1e3 if p.result else None for p in (a, b)]
        shown_powers = "".join(f"{'no result' if p is None else f'{p:.2f}':>10}" for p in powers)
        first, second = powers
        by = "" if first is None or second is None else f"{second - first:+.2f}"
        margins = (f"{p.octane - p.result.octane_needed:.0f}" if p.result else "none" for p in (a, b))
        yield f"  {a.speed_rpm:>7g}{shown_powers}{by:>10}   {', '.join(margins)}"


def _knocks(made: Planned, after: "Curve") -> Iterator[str]:
    """The simulated limits, at the speeds that pass them once all is done."""
    for limit in simulated_limits(made.done.plan.limits):
        margins = {p.speed_rpm: p.octane - p.result.octane_needed for p in after.points if p.result}
        low = [f"{speed:g}" for speed, margin in margins.items() if limit.low is not None and margin < limit.low]
        if low:
            yield from _item("!", f"at {', '.join(low)} rpm {limit.too_low} [{source(limit.source).kind}]")
            yield from _item(">", limit.remedy[0].upper() + limit.remedy[1:] + ".", indent=4)


def cut_step_text(step: CutStep, units: Units = "mm") -> Iterator[str]:
    """One step of the cut list. units : what its lines are written in; instructions say both"""
    if step.measure_first:
        yield from _item("STOP.", step.measure_first, 0)
        yield ""
    yield in_inches(f"STEP {step.number}: {step.title}", units)
    operation = step.operation
    yield from _item("with", with_inches(f"{', '.join(operation.tools)}; {operation.skill}", units))
    yield from _item("undo", with_inches(operation.undo, units))
    if operation.caution:
        yield from _item("!", with_inches(operation.caution, units))
    if step.amount_stop is not None and not step.lines and not step.widths and operation.amount:
        unit = operation.amount.unit
        target = show(step.step.amount or 0.0, unit)
        yield in_inches(f"  stop and measure at {show(round(step.amount_stop, 2), unit)}, target {target}", units)
    for line in step.lines:
        yield from _line(line, units)
    for width in step.widths:
        yield from _width(width, units)
    for number, one in enumerate(step.instructions, start=1):
        yield from _item(f"{step.number}.{number}", with_inches(one.do, units))
        if one.measure:
            yield from _item("measure here before going on:", with_inches(one.measure, units), 6)
    if step.expected:
        yield "  expect"
        for expected in step.expected:
            value = show_in(expected.value, expected.unit, expected.plus_minus, units)
            before = "" if expected.before is None else f" (was {numbered(expected.before, expected.unit, units)})"
            yield from _item("-", f"{expected.label}: {value}{before}", 4)
        yield from _item(">", with_inches(step.expected[0].if_different, units), 4)


def _line(line: Line, units: Units) -> Iterator[str]:
    pair = " (both sides)" if line.openings == 2 else ""
    now = "there is no port yet" if line.now_mm is None else f"now {length(line.now_mm, units)}"
    old = ""
    if abs(line.target_from_old_deck_mm - line.target_mm) > 1e-9:
        old = f" ({length(line.target_from_old_deck_mm, units)} from the deck as it was at the start)"
    target = f"TARGET {show_in(line.target_mm, 'mm', line.plus_minus_mm, units)}"
    where = f"{line.port}, {line.edge}{pair}, from the deck as it is now"
    yield from _item("#", f"{where}: {now}, STOP {length(line.stop_mm, units)}, {target}{old}")
    if line.opens_deg is not None and line.closes_deg is not None and line.stop_opens_deg is not None:
        reads = f"; your wheel reads {line.wheel_zero_deg:.1f}° at top dead centre: add it"
        zero = reads if line.wheel_zero_deg else ""
        yield from _item(
            "°",
            f"on the wheel, after true top dead centre: opens at {line.stop_opens_deg:.1f}° (stop), "
            f"{show(line.opens_deg, 'deg', line.plus_minus_deg)} (target), closes at {line.closes_deg:.1f}°{zero}",
            4,
        )


def _width(width: Width, units: Units) -> Iterator[str]:
    pair = " (both)" if width.openings == 2 else ""
    now = "" if width.now_chord_mm is None else f"now {length(width.now_chord_mm, units)}, "
    yield from _item(
        "#",
        f"{width.port}, width straight across{pair}: {now}STOP {length(width.stop_chord_mm, units)}, "
        f"TARGET {show_in(width.target_chord_mm, 'mm', width.plus_minus_mm, units)}; along the bore, on a rubbing, "
        f"{length(width.target_arc_mm, units)}; half of it on each side",
    )
