"""The markup of a trace: speed over time, the sound picture under it, pulls as bands whose ends can be moved.

Lines are SVG in seconds and km/h, stretched to the width there is; words, bands and handles are HTML over it, so that
they keep their size on a telephone. What is dragged moves in the browser (static/prove.js) and is told when let go.
"""

from collections.abc import Sequence
from html import escape

from scribeline.tasks.trial_spectrum import Heard
from scribeline.tasks.trial_views import PullView, RecordingView, SpeedLine

MOST_TICKS = 8
STEPS_S = (0.5, 1.0, 2.0, 5.0, 10.0, 30.0, 60.0, 120.0, 300.0, 600.0, 1800.0, 3600.0)


def trace(
    one: RecordingView, line: SpeedLine, from_s: float, to_s: float, *, chosen: int = 0, handles: bool = False,
    label: str,
) -> str:  # fmt: skip
    """A trace between two moments. chosen : number of the pull at hand; handles : whether its ends can be moved."""
    top = _top(line.top_km_h)
    paths = "".join(
        f'<path class="trace-line" vector-effect="non-scaling-stroke" d="{_path(t, v, top)}"/>' for t, v in line.pieces
    )
    levels = [top * share for share in (0.25, 0.5, 0.75)]
    rules = "".join(
        f'<path class="trace-rule" vector-effect="non-scaling-stroke" d="M{from_s:.3f} {top - y:.3f}H{to_s:.3f}"/>'
        for y in levels
    )
    speeds = "".join(
        f'<span class="trace-level" style="bottom:{100 * level / top:.2f}%">{level:g}</span>' for level in levels
    )
    holes = "".join(
        f'<span class="trace-break" style="left:{_share(at, from_s, to_s):.3f}%" title="the clock jumps here"></span>'
        for at in one.breaks_s if from_s < at < to_s
    )  # fmt: skip
    bands = "".join(_band(pull, one, from_s, to_s, chosen, handles) for pull in one.pulls)
    return (
        f'<div class="trace" role="group" aria-label="{escape(label)}" data-from="{from_s:.3f}" data-to="{to_s:.3f}" '
        f'data-end="{one.duration_s:.3f}">'
        f'<div class="trace-field"><svg viewBox="{from_s:.3f} 0 {to_s - from_s:.3f} {top:.3f}" '
        f'preserveAspectRatio="none" aria-hidden="true">{rules}{paths}</svg>{speeds}{holes}{bands}</div>'
        f"{_axis(from_s, to_s)}</div>"
    )


def listed(found: Sequence[RecordingView], here: int) -> str:
    """Recordings to choose from; one element for all of them, as there may be hundreds."""
    if not found:
        return "<p>No recording yet: bring some in above, or type times.</p>"
    rows = []
    for one in found:
        count = f"{len(one.pulls)} pull{'' if len(one.pulls) == 1 else 's'}"
        way = f", {one.direction}" if one.direction else ""
        rows.append(
            f'<li><button type="button" class="listed" data-file="{one.number}" '
            f'aria-pressed="{str(one.number == here).lower()}">{one.number} {escape(one.file_name)}</button> '
            f'<span class="quiet">{escape(one.setup)}{escape(way)}: {count}</span></li>'
        )
    return f'<ul class="ruled-list recordings" tabindex="0" aria-label="Recordings">{"".join(rows)}</ul>'


def sound(heard: Heard, picture_url: str, from_s: float, to_s: float) -> str:
    """The sound picture between two moments, the tracked line over it, and where it was not sure."""
    top = heard.top_hz
    image = (
        f'<image href="{escape(picture_url)}" x="{heard.from_s:.3f}" y="0" width="{heard.to_s - heard.from_s:.3f}" '
        f'height="{top:.3f}" preserveAspectRatio="none"/>'
    )
    lines = []
    for octave, kind in ((0.5, "thin"), (2.0, "thin"), (1.0, "strong")):
        for t, hz in heard.line:
            near = [(a, f) for a, f in zip(t, hz, strict=True) if from_s - 1.0 <= a <= to_s + 1.0]
            if len(near) > 1:
                d = _path([a for a, _ in near], [octave * f for _, f in near], top)
                lines.append(f'<path class="sound-line {kind}" vector-effect="non-scaling-stroke" d="{d}"/>')
    gaps = "".join(
        f'<span class="sound-gap" style="left:{_share(max(a, from_s), from_s, to_s):.3f}%;'
        f'width:{100 * (min(b, to_s) - max(a, from_s)) / (to_s - from_s):.3f}%"></span>'
        for a, b in heard.gaps if b > from_s and a < to_s
    )  # fmt: skip
    steps = [hz for hz in (100, 200, 300, 400, 600, 800, 1000, 1200) if hz < top]
    marks = "".join(
        f'<span class="trace-level" style="bottom:{100 * hz / top:.2f}%">{hz} Hz</span>'
        for hz in steps[:: len(steps) // 4 + 1]
    )
    said = (
        f"Sound from {from_s:.0f} to {to_s:.0f} s: frequencies up to {top:.0f} Hz, over them the tracked firing; "
        f"sure in {100 * heard.sure_share:.0f} % of the recording, {len(heard.gaps)} gaps."
    )
    return (
        f'<div class="trace sound" role="img" aria-label="{escape(said)}"><div class="trace-field">'
        f'<svg viewBox="{from_s:.3f} 0 {to_s - from_s:.3f} {top:.3f}" preserveAspectRatio="none" aria-hidden="true">'
        f"{image}{''.join(lines)}</svg>{gaps}{marks}</div></div>"
    )


def _band(pull: PullView, one: RecordingView, from_s: float, to_s: float, chosen: int, handles: bool) -> str:
    if pull.end_s <= from_s or pull.start_s >= to_s:
        return ""
    left, right = (_share(at, from_s, to_s) for at in (max(pull.start_s, from_s), min(pull.end_s, to_s)))
    out = pull.left_out or pull.dropped
    kinds = " ".join(("trace-band", "chosen" if pull.number == chosen else "", "out" if out else "")).strip()
    state = f", left out: {out}" if out else ""
    name = f"Pull {pull.name}, {pull.start_s:.1f} to {pull.end_s:.1f} s{state}"
    ends = ""
    if handles and pull.number == chosen:
        ends = "".join(_handle(pull, one, which, at) for which, at in (("start", pull.start_s), ("end", pull.end_s)))
    words = f"{pull.name} out" if out else pull.name
    return (
        f'<div class="{kinds}" data-pull="{pull.number}" data-start="{pull.start_s:.3f}" data-end="{pull.end_s:.3f}" '
        f'style="left:{left:.3f}%;width:{right - left:.3f}%">'
        f'<button type="button" class="trace-name" aria-pressed="{str(pull.number == chosen).lower()}" '
        f'aria-label="{escape(name)}"><span>{escape(words)}</span></button>{ends}</div>'
    )


def _handle(pull: PullView, one: RecordingView, which: str, at: float) -> str:
    words = "begins" if which == "start" else "ends"
    return (
        f'<span class="trace-end" data-which="{which}" role="slider" tabindex="0" aria-orientation="horizontal" '
        f'aria-label="Pull {escape(pull.name)} {words}" aria-valuemin="0" aria-valuemax="{one.duration_s:.2f}" '
        f'aria-valuenow="{at:.2f}" aria-valuetext="{at:.2f} seconds"></span>'
    )


def _axis(from_s: float, to_s: float) -> str:
    step = next((one for one in STEPS_S if (to_s - from_s) / one <= MOST_TICKS), STEPS_S[-1])
    first = int(from_s / step) + (1 if from_s % step else 0)
    ticks = []
    at = first * step
    while at <= to_s:
        if at - from_s < 0.01 * (to_s - from_s):  # it would be cut off at the edge
            at += step
            continue
        ticks.append(f'<span style="left:{_share(at, from_s, to_s):.3f}%">{at:g}</span>')
        at += step
    return f'<div class="trace-axis" aria-hidden="true">{"".join(ticks)}<span class="trace-unit">s, km/h</span></div>'


def _path(times: Sequence[float], values: Sequence[float], top: float) -> str:
    points = [f"{t:.3f} {top - min(v, top):.2f}" for t, v in zip(times, values, strict=True)]
    return "M" + "L".join(points)


def _top(fastest: float) -> float:
    """A round speed above the fastest."""
    return next((float(one) for one in (20, 40, 60, 80, 100, 120, 160, 200, 300, 500) if one > fastest), 1000.0)


def _share(at: float, from_s: float, to_s: float) -> float:
    return 100.0 * (at - from_s) / (to_s - from_s)
