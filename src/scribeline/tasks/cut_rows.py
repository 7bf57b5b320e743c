"""What the printed cut list says: the plan's own cut list, each edge with its lines, each step with what to expect."""

from collections.abc import Iterator

from scribeline.data.cautions import cautions_for
from scribeline.errors import SheetError
from scribeline.geometry.windows import arc_from_chord_mm
from scribeline.geometry.work_out import WorkedOut
from scribeline.marking.bore_view import after_or_before
from scribeline.marking.cut_list import CutList, CutRow, Task
from scribeline.plan.cut_list import CutStep, Line, Width
from scribeline.tasks.sheet_wishes import Worked
from scribeline.units import Units, in_inches, length, show, show_in, with_inches

_LEAST_DEG = 0.05
IF_DIFFERENT = (
    "A number outside its +/-: measure once more. If it stays, do not cut on: write the engine as it is into a new "
    "record and have the steps that are left worked out again from it (scribeline plan, --from-here and --measured)."
)


def printed_cut_list(worked: Worked, units: Units = "mm") -> CutList:
    """The cut list of a plan as it is printed; SheetError without a plan. units : what it is written in"""
    if worked.cut is None or worked.target is None:
        raise SheetError(
            "there is no cut list without a plan\n    accepted: a plan file\n"
            "    what to do: give the plan with --plan; docs/howto/print-and-mark-out.md shows one"
        )
    bore = worked.out.record.cylinder.bore_mm.value
    rows: list[CutRow] = []
    for step in worked.cut.steps:
        rows += [_row(line, worked.on_deck) for line in step.lines]
        rows += [row for width in step.widths for row in _width_rows(width, bore)]
    return CutList(
        tuple(rows),
        tuple(_task(step, units) for step in worked.cut.steps),
        tuple(with_inches(one, units) for one in worked.cut.said),
        tuple(_notes(worked, units)),
        tuple(with_inches(one.text, units) for one in cautions_for("cut-plan")),
        worked.cut.plan,
        units=units,
    )


def _notes(worked: Worked, units: Units) -> Iterator[str]:
    assert worked.cut is not None
    yield IF_DIFFERENT
    if worked.cut.deck_lowered_mm:
        lowered = length(worked.cut.deck_lowered_mm, units)
        yield (
            f"Heights are from the deck as it is when the line is scribed, {lowered} lower than now: face it first, "
            "then lay the wrap on it."
        )
    zeros = {line.wheel_zero_deg for step in worked.cut.steps for line in step.lines if line.opens_deg is not None}
    for zero in sorted(zeros):
        if abs(zero) > _LEAST_DEG:
            yield f"Degrees are from true top dead centre. Set as it was measured, your wheel reads {zero:+.1f}° there."


def _times(openings: int) -> str:
    return "" if openings == 1 else f" ({openings} x)"


def _row(line: Line, on_deck: WorkedOut) -> CutRow:
    degrees = note = stop = ""
    if line.opens_deg is not None and line.plus_minus_deg is not None:
        degrees, _, side = after_or_before(line.opens_deg).partition(" ")
        note = f"± {line.plus_minus_deg:.1f}°, {side}"
        was = on_deck.values.get(f"ports.{line.port}.opens_deg_atdc") if line.edge == "roof" else None
        if was is not None and was.value is not None:
            degrees = f"{after_or_before(was.value).partition(' ')[0]} to {degrees}"
        if line.stop_opens_deg is not None:
            stop = f"{after_or_before(line.stop_opens_deg).partition(' ')[0]}"
    return CutRow(
        f"{line.port}{_times(line.openings)}, {line.edge}",
        "down from the deck",
        line.now_mm,
        line.stop_mm,
        line.target_mm,
        line.plus_minus_mm,
        degrees,
        note,
        stop,
    )


def _width_rows(width: Width, bore_mm: float) -> Iterator[CutRow]:
    """The same width straight across and along the bore."""
    chords = width.now_chord_mm, width.stop_chord_mm, width.target_chord_mm
    arcs = [None if chord is None else float(arc_from_chord_mm(chord, bore_mm)) for chord in chords]
    assert arcs[1] is not None
    name = f"{width.port}{_times(width.openings)}, width"
    yield CutRow(name, "straight across, chord", *chords, width.plus_minus_mm)
    yield CutRow(name, "along the bore, arc", arcs[0], arcs[1], width.target_arc_mm, width.plus_minus_mm)


def _task(step: CutStep, units: Units) -> Task:
    do = [step.measure_first] if step.measure_first else []
    do += [one.do for one in step.instructions]
    if step.amount_stop is not None and not step.lines and not step.widths:
        unit = step.operation.amount.unit if step.operation.amount else "mm"
        stop = show(round(step.amount_stop, 3), unit)
        do.append(
            f"Stop at {length(step.amount_stop, units) if units == 'inch' and unit == 'mm' else stop} and measure."
        )
    if step.operation.caution:
        do.append(step.operation.caution)
    measure = list(dict.fromkeys(one.measure for one in step.instructions if one.measure))
    expect = [f"{one.label}: {show_in(one.value, one.unit, one.plus_minus or None, units)}" for one in step.expected]
    do, measure = ([with_inches(one, units) for one in some] for some in (do, measure))
    return Task(in_inches(step.title, units), tuple(do), tuple(measure), tuple(expect))
