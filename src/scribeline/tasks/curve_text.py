"""A power curve as plain text: the table first, then what limits the engine, then what it all rests on."""

import textwrap
from collections.abc import Iterator

from scribeline.models.knock import ERROR_OCTANE
from scribeline.models.relation import UNITS, Relation
from scribeline.sources import source
from scribeline.tasks.curve import COLUMNS, Curve, Point, converged_words, sources_of
from scribeline.tasks.curve_sure import downward_words, fineness_words, later_words, plus_minus_words
from scribeline.units import Units, with_inches

WIDTH = 120
# Of the quantities, those whose +/- stands in the text; all of them stand in JSON and CSV.
_SURE = ("power_kw", "torque_nm", "bmep_bar", "delivery_ratio", "trapping_efficiency", "peak_bar", "exhaust_c")


def curve_text(curve: Curve, other: Curve | None = None, units: Units = "mm") -> str:
    """The curve, at most WIDTH characters wide but for the table; the other engine's powers stand beside.

    units : inches stand behind millimetres for whoever reads them
    """
    lines = [*_title(curve), "", *_table(curve)]
    if other is not None:
        lines += ["", *_compared(curve, other)]
    if curve.of_readings is not None:
        lines += ["", "WITH THE +/- OF THE READINGS", *_with_plus_minus(curve)]
    lines += ["", "WHAT LIMITS THE ENGINE (cost: share of a cylinderful of outside air, or of the work)"]
    for point in curve.points:
        lines += item(f"{point.speed_rpm:>6g}", point.limit or point.why_not.replace("\n", "; "), units)
    lines += ["", "HOW WELL IT CONVERGED", *_converged(curve)]
    if curve.remarks:
        lines += ["", "OUTSIDE WHAT IS KNOWN OF SMALL ENGINES (not hidden: believe it less)"]
        for remark in curve.remarks:
            lines += item("!", remark, units)
    return "\n".join([*lines, *grounds(curve, units)])


def grounds(curve: Curve, units: Units = "mm") -> list[str]:
    """Everything that a curve, or one speed of it, rests on; what is left out, and the cautions."""
    lines = ["", "ASSUMED, BECAUSE NOBODY MEASURED IT"]
    for one in curve.build.taken:
        taken = f"{one.name} = {one.value:.4g} {one.unit}: {one.reason} [{source(one.source).kind}]"
        lines += item("-", taken, units)
    lines += ["", "NOT SIMULATED"]
    for left in curve.build.left_out:
        lines += item("-", left, units)
    if curve.left:
        lines += ["", "BEYOND WHAT A RELATION IS KNOWN FOR (it is used all the same: believe it less)"]
        for one_left in curve.left:
            lines += item("-", one_left.words, units)
    lines += ["", "RELIES ON"]
    for relation in curve.relied_on:
        lines += item("-", relation_words(relation), units)
    keys = ", ".join(sources_of(curve))
    lines += textwrap.wrap(f"sources: {keys}", WIDTH, initial_indent="  ", subsequent_indent="  ")
    lines += ["", "CAUTIONS"]
    for caution in curve.cautions:
        lines += item("*", caution.text, units)
    return lines


def relation_words(relation: Relation) -> str:
    """A relation with its knobs, where it is known to hold, and its sources, in one line."""
    knobs = ", ".join(
        f"{knob.name} {knob.value:g} {knob.unit}".rstrip()
        + (f" (TURNED, usually {knob.usual:g})" if knob.usual is not None else "")
        for knob in relation.knobs
    )
    turned = f"; to be turned: {knobs}" if knobs else ""
    known = ", ".join(
        f"{one.quantity} {one.low:g} to {one.high:g} {UNITS[one.quantity]}".rstrip() for one in relation.ranges
    )
    known = f"; known for {known}" if known else ""
    return f"{relation.name}: {relation.gives}{turned}{known} [{', '.join(relation.sources)}]"


def _with_plus_minus(curve: Curve) -> Iterator[str]:
    columns = [column for column in COLUMNS if column.key in _SURE]
    yield f"{'rpm':>6}" + "".join(f"  {f'{c.heading} {c.unit}'.strip():>18}" for c in columns)
    assert curve.of_readings is not None
    for i, point in enumerate(curve.points):
        if point.result is None:
            continue
        cells = []
        for column in columns:
            width = curve.of_readings.of[column.key][i]
            sure = f"+/- {width:.{column.digits}f}" if width == width else "+/- not known"
            cells.append(f"{column.of(point):.{column.digits}f} {sure}")
        yield f"{point.speed_rpm:>6g}" + "".join(f"  {cell:>18}" for cell in cells)
    yield from item("-", plus_minus_words(curve))


def _title(curve: Curve) -> Iterator[str]:
    record = curve.out.record
    yield f"{record.name}{' (INVENTED, for demonstration)' if record.invented else ''}"
    best = curve.best
    if best is None:
        yield "No speed came to a sound end."
        return
    yield f"most power {best.got.power_w / 1e3:.1f} kW at {best.speed_rpm:g} rpm; simulated, no engine was run"


def item(mark: str, text: str, units: Units = "mm") -> list[str]:
    lead = f"  {mark} "
    return textwrap.wrap(with_inches(text, units), WIDTH, initial_indent=lead, subsequent_indent=" " * len(lead))


def _widths() -> list[int]:
    return [max(*(len(word) for word in c.heading.split()), len(c.unit), 6) for c in COLUMNS]


def _table(curve: Curve) -> Iterator[str]:
    headings = [c.heading.split() for c in COLUMNS]
    widths = _widths()
    for row in range(2):
        words = [(h[row - 2 + len(h)] if row - 2 + len(h) >= 0 else "") for h in headings]
        yield f"{'':>6}" + "".join(f"  {w:>{n}}" for w, n in zip(words, widths, strict=True))
    yield f"{'rpm':>6}" + "".join(f"  {c.unit:>{n}}" for c, n in zip(COLUMNS, widths, strict=True))
    for point in curve.points:
        if point.result is None:
            yield f"{point.speed_rpm:>6g}  no result: see below"
        else:
            cells = (f"  {c.of(point):>{n}.{c.digits}f}" for c, n in zip(COLUMNS, widths, strict=True))
            yield f"{point.speed_rpm:>6g}" + "".join(cells) + ("  ~" if point.uneven else "")
    yield f"  octane needed, and the knock margin with it: +/- {ERROR_OCTANE:g} at least, for comparing builds only"
    if any(p.uneven for p in curve.points):
        yield "  ~ runs unevenly here: the mean of several revolutions"


def _compared(curve: Curve, other: Curve) -> Iterator[str]:
    yield f"AGAINST {other.name}"
    yield f"{'rpm':>6}  {'this, kW':>9}  {'that, kW':>9}  {'less':>7}"
    theirs = {p.speed_rpm: p for p in other.points}
    for point in curve.points:
        that = theirs.get(point.speed_rpm)
        if that is not None:
            yield f"{point.speed_rpm:>6g}  {_power(point):>9}  {_power(that):>9}  {_less(point, that):>7}"


def _power(point: Point) -> str:
    return f"{point.got.power_w / 1e3:.2f}" if point.result else "none"


def _less(point: Point, that: Point) -> str:
    if point.result is None or that.result is None:
        return ""
    return f"{(point.result.power_w - that.result.power_w) / 1e3:+.2f}"


def _converged(curve: Curve) -> Iterator[str]:
    sound = [p for p in curve.points if p.result]
    if sound:
        worst = max(sound, key=lambda p: p.got.distance)
        uneven = sum(p.uneven for p in sound)
        of_them = f", {uneven} of them only in the mean of several revolutions" if uneven else ""
        yield from item(
            "-",
            f"{len(sound)} of {len(curve.points)} speeds settle{of_them}: by estimate within "
            f"{100 * curve.settings.tolerance:g} % of where they would end; the worst is "
            f"{worst.speed_rpm:g} rpm, {converged_words(worst)}",
        )
        leak = max(sound, key=lambda p: abs(p.got.mass_imbalance))
        yield from item(
            "-",
            f"what goes in comes out to {100 * abs(leak.got.mass_imbalance):.2f} % ({leak.speed_rpm:g} rpm, the worst)",
        )
    for words in (fineness_words(curve), downward_words(curve), later_words(curve)):
        if words:
            yield from item("-", words)
    for point in sound:
        if point.uneven:
            yield from item("-", f"{point.speed_rpm:g} rpm: {converged_words(point)}")
    for point in curve.points:
        if point.result is None:
            yield from item("!", point.why_not.replace("\n", "; "))
