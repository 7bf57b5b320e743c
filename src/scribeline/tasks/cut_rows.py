"""What the cut list says of an engine and a plan: each edge that is cut, the work, the limits, the cautions."""

from collections.abc import Iterator

from scribeline.data.cautions import cautions_for
from scribeline.errors import SheetError
from scribeline.geometry.work_out import WorkedOut
from scribeline.marking.bore_view import after_or_before
from scribeline.marking.cut_list import CutList, CutRow, Task
from scribeline.marking.port_outline import PortOutline
from scribeline.marking.stop_line import stop_outline
from scribeline.plan.limits import statements
from scribeline.plan.operations import BY_KEY
from scribeline.plan.order import in_order
from scribeline.plan.phrases import shown
from scribeline.tasks.drawings import bore_of
from scribeline.tasks.sheet_wishes import Worked

_LEAST_MM = 0.005  # less is no cut

# Further lengths a plan may change: name on the card, what the row says, how it is measured.
_OTHERS = (
    ("deck_clearance_mm", "deck clearance", "crown's edge to deck, TDC"),
    ("squish_gap_mm", "squish gap", "by solder"),
)


def cut_list_of(worked: Worked) -> CutList:
    """The cut list of a plan; SheetError without one."""
    if worked.plan is None or worked.target is None:
        raise SheetError(
            "there is no cut list without a plan\n    accepted: a plan file\n"
            "    what to do: give the plan with --plan; docs/howto/print-and-mark-out.md shows one"
        )
    steps, _ = in_order(worked.plan.steps)
    tasks = []
    for step in steps:
        instructions = BY_KEY[step.do].instructions
        do = tuple(one.do for one in instructions)
        tasks.append(Task(shown(step), do, tuple(dict.fromkeys(one.measure for one in instructions if one.measure))))
    rows = (*_others(worked.out, worked.target), *_ports(worked))
    notes = []
    if abs(worked.deck_taken_mm) > _LEAST_MM:
        notes.append(
            f"Heights are from the deck as it will be, {worked.deck_taken_mm:.2f} mm lower than now: face it first, "
            "then lay the wrap on it and mark the ports out."
        )
    moved = tuple(one.text for one in statements(worked.plan.limits))
    cautions = tuple(one.text for one in cautions_for("cut-plan"))
    return CutList(rows, tuple(tasks), moved, tuple(notes), cautions, worked.plan.name)


def _others(before: WorkedOut, after: WorkedOut) -> Iterator[CutRow]:
    for name, words, how in _OTHERS:
        was, becomes = (out.values.get(name) for out in (before, after))
        if was is None or becomes is None or was.value is None or becomes.value is None:
            continue
        if abs(was.value - becomes.value) > _LEAST_MM:
            yield CutRow(words, how, was.value, None, becomes.value)
    for side in ("exhaust", "intake"):
        skirts = [getattr(out.record.piston, f"skirt_{side}_side_mm") for out in (before, after)]
        if None not in skirts and abs(skirts[0].value - skirts[1].value) > _LEAST_MM:
            yield CutRow(f"skirt, {side} side", "down from the crown's edge", skirts[0].value, None, skirts[1].value)


def _ports(worked: Worked) -> Iterator[CutRow]:
    assert worked.target is not None
    today, target = bore_of(worked.on_deck), bore_of(worked.target)
    before = {port.name: port for port in today.ports} if today else {}
    for port in target.ports if target else ():
        was = before.get(port.name)
        stop = None if was is None else stop_outline(was, port)
        for edge in ("roof", "floor"):
            now, line, then = (_edge(one, edge) for one in (was, stop, port))
            assert then is not None
            if now is None or abs(then - now) > _LEAST_MM:
                degrees = _degrees(worked, port, edge)
                yield CutRow(f"{port.name}, {edge}", "down from the deck", now, line, then, None, degrees)
        yield from _widths(worked, port, was, stop)


def _edge(port: PortOutline | None, edge: str) -> float | None:
    return None if port is None else float(getattr(port, f"{edge}_depth_mm"))


def _widths(worked: Worked, port: PortOutline, was: PortOutline | None, stop: PortOutline | None) -> Iterator[CutRow]:
    """Straight across and along the bore: the same width, measured in two ways."""
    import math

    bore = worked.out.record.cylinder.bore_mm.value
    if was is not None and abs(port.width_arc_mm - was.width_arc_mm) <= _LEAST_MM:
        return
    arcs = [None if one is None else one.width_arc_mm for one in (was, stop, port)]
    chords = [None if arc is None else bore * math.sin(arc / bore) for arc in arcs]
    for what, (now, line, then) in (("straight across, chord", chords), ("along the bore, arc", arcs)):
        assert then is not None
        yield CutRow(f"{port.name}, width", what, now, line, then)


def _degrees(worked: Worked, port: PortOutline, edge: str) -> str:
    """Crank degrees that the edge decides, as it is and as it shall become."""
    decides = "floor" if port.kind == "intake" else "roof"
    if edge != decides:
        return ""
    before = bore_of(worked.out)
    was = next((one for one in before.ports if one.name == port.name), None) if before else None
    found = [one.opens_deg_atdc for one in (was, port) if one is not None and one.opens_deg_atdc is not None]
    if not found:
        return ""
    angles = [after_or_before(deg).partition(" ") for deg in found]
    return " to ".join(dict.fromkeys(angle for angle, _, _ in angles)) + f", opens {angles[-1][2]}"
