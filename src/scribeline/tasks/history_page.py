"""Two revisions beside each other as a page shows them, made in a worker process: words, drawings, power curves.

`tell` is given what there is so far, `stopped` says when nobody waits for more.
"""

import math
from collections.abc import Callable, Collection, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import Any

from scribeline.cycle.simulate import FOR_SEARCHES, Settings
from scribeline.engine import EngineRecord
from scribeline.errors import CycleError, SheetError
from scribeline.learning.words import glyph, places
from scribeline.notebook import Revision
from scribeline.tasks.curve import Curve, left_undone, power_curve, usual_speeds
from scribeline.tasks.curve_page import curve_drawing
from scribeline.tasks.history_compare import TwoRevisions, compare_pair, overlaid, record_of_revision
from scribeline.tasks.inline_drawings import InlineDrawing, inline_drawing
from scribeline.units import Units, length


@dataclass(frozen=True)
class SideBySide:
    """Two revisions beside each other.

    heads : what they are called; rows : reading, before, after, by how much; follows : number of the card and both
    drawings : heading, and the drawing or why there is none; same : whether the texts are the same to the letter
    """

    heads: tuple[str, str]
    rows: tuple[tuple[str, str, str, str], ...]
    follows: tuple[tuple[str, str, str], ...]
    drawings: tuple[tuple[str, InlineDrawing | str], ...]
    same: bool


@dataclass(frozen=True)
class TwoCurves:
    """Power and what makes it, of both.

    stage : "coarse", with long cells at every second speed; "fine", with the usual ones; "part", fine as far as it came
    words : in sentences
    """

    stage: str
    drawing: InlineDrawing
    words: tuple[str, ...]


@dataclass(frozen=True)
class SoFar:
    """How far the simulation has come: speeds done and in all, of the stage that goes on."""

    stage: str
    done: int
    of: int


def side_by_side(
    first: Revision,
    second: Revision,
    units: Units = "mm",
    *,
    tell: Callable[[Any], object] | None = None,
    stopped: Callable[[], bool] | None = None,
) -> SideBySide:
    """Both worked out and drawn over each other. units : what lengths are read in. Errors as `compare_two`."""
    two = compare_pair(first, second, units)
    rows = tuple(
        (f"{one.part}: {one.reading}" if one.reading else one.part, one.before or "-", one.after or "-", one.by)
        for one in two.differences
    )
    drawings = tuple(
        (heading, one if isinstance(one, str) else inline_drawing(replace(one, name=f"{one.name}-of-two")))
        for heading, one in overlaid(two).items()
    )
    return SideBySide(two.heads, rows, tuple(_follows(two)), drawings, two.same_text)


def _follows(two: TwoRevisions) -> list[tuple[str, str, str]]:
    found = []
    for one in two.moved:
        digits = places(abs(one.by)) if one.by else 3
        inches = one.unit == "mm" and two.units == "inch"
        was, now = (
            "-" if value is None
            else length(value, two.units, digits) if inches
            else f"{value:.{digits}f}{glyph(one.unit)}"
            for value in (one.before, one.after)
        )  # fmt: skip
        found.append((one.label, was, now))
    return found


def curves_of_two(
    first: Revision, second: Revision, *, tell: Callable[[Any], object], stopped: Callable[[], bool]
) -> TwoCurves:
    """Both simulated, coarse first and told at once, then fine. CycleError where one of them cannot be simulated.

    Stopped among the fine speeds, those that both have, and the quick ones at the others; CycleError before.
    """
    named = [record_of_revision(one).model_copy(update={"name": f"revision {one.number}"}) for one in (first, second)]
    speeds = sorted({*usual_speeds(named[0]), *usual_speeds(named[1])})
    few = speeds[::2]
    coarse = _both(named, few, FOR_SEARCHES, "coarse", tell, stopped)
    if any(map(left_undone, coarse)):
        raise CycleError(f"stopped before both had all of the {len(few)} quick speeds, as asked")
    tell(_of_curves("coarse", *coarse))
    try:
        fine = _both(named, speeds, None, "fine", tell, stopped)
    except CycleError:
        if not stopped():
            raise
        return _of_curves("coarse", *coarse)
    undone = {*left_undone(fine[0]), *left_undone(fine[1])}
    if not undone:
        return _of_curves("fine", *fine)
    was, now = (_filled(one, quick, undone) for one, quick in zip(fine, coarse, strict=True))
    found = _of_curves("part", was, now)
    said = (
        f"Stopped after {len(speeds) - len(undone)} of {len(speeds)} speeds: up to {min(undone):g} rev/min these are "
        "the fine curves; from there on they are the quick ones."
    )
    return replace(found, words=(said, *found.words))


def _both(
    records: Sequence[EngineRecord], speeds: Sequence[float], settings: Settings | None, stage: str,
    tell: Callable[[Any], object], stopped: Callable[[], bool],
) -> list[Curve]:  # fmt: skip
    """Both side by side, so that where it is stopped both have about as much."""
    done = [0] * len(records)

    def curve(number: int) -> Curve:
        def tick(here: int, _: int) -> bool:
            done[number] = here
            tell(SoFar(stage, sum(done), len(records) * len(speeds)))
            return stopped()

        return power_curve(records[number], speeds, settings, progress=tick, threads=1, so_far=True)

    with ThreadPoolExecutor(len(records)) as pool:
        return list(pool.map(curve, range(len(records))))


def _filled(fine: Curve, quick: Curve, undone: Collection[float]) -> Curve:
    """The fine speeds that both have, and the quick ones at the others."""
    points = [one for one in fine.points if one.speed_rpm not in undone]
    points += [one for one in quick.points if one.speed_rpm in undone]
    return replace(fine, points=tuple(sorted(points, key=lambda one: one.speed_rpm)))


def _of_curves(stage: str, was: Curve, now: Curve) -> TwoCurves:
    try:
        drawing = curve_drawing(now, was)
    except SheetError:
        reasons = [point.why_not for point in (*was.points, *now.points) if point.why_not]
        raise CycleError(reasons[0] if reasons else "neither of the two gives a curve") from None
    return TwoCurves(stage, inline_drawing(replace(drawing, name="curves-of-two")), tuple(_curve_words(was, now)))


def _curve_words(was: Curve, now: Curve) -> list[str]:
    words = []
    bests = [(one.name, one.best) for one in (was, now)]
    told = [f"{name} {best.got.power_w / 1e3:.2f} kW at {best.speed_rpm:g} rev/min" for name, best in bests if best]
    if told:
        words.append(f"Most power: {', '.join(told)}.")
    by = _gains(was, now)
    if by:
        most, least = max(by, key=lambda one: one[1]), min(by, key=lambda one: one[1])
        words.append(
            f"{now.name[:1].upper()}{now.name[1:]} gains most at {most[0]:g} rev/min, {most[1]:+.2f} kW, and least at "
            f"{least[0]:g}, {least[1]:+.2f} kW."
        )
    words.append("Simulated, and never held against an engine: read it as a comparison of the two, not as a promise.")
    return words


def _gains(was: Curve, now: Curve) -> Sequence[tuple[float, float]]:
    pairs = zip(was.points, now.points, strict=True)
    found = [(a.speed_rpm, (b.got.power_w - a.got.power_w) / 1e3) for a, b in pairs if a.result and b.result]
    return [one for one in found if math.isfinite(one[1])]
