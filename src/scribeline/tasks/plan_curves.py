"""Power before and after a plan, with what the measuring leaves open: as plain numbers, a drawing and sentences.

The numbers are kept as a document, so that a page shows them whichever process worked them out, and when.
"""

import math
from collections.abc import Mapping, Sequence
from typing import Any

from scribeline.marking.curve_plot import CurvePlot, Line, Mark, Panel, curve_plot
from scribeline.marking.shapes import Drawing, Role
from scribeline.tasks.plan_kept import program

STAGES = ("coarse", "part", "fine", "band")
"""How far a curve has come: quick, fine at some of its speeds, fine, with what the measuring leaves open."""


def curves_document(
    of: str,
    stage: str,
    speeds: Sequence[float],
    before_kw: Sequence[float],
    after_kw: Sequence[float],
    margins: tuple[Sequence[float], Sequence[float]],
    widths: tuple[Sequence[float], Sequence[float], Sequence[float]] | None = None,
    *,
    engines: int = 0,
    same: bool = False,
    said: Sequence[str] = (),
    fine: Sequence[float] = (),
    fine_of: int = 0,
    whole: bool = True,
) -> dict[str, Any]:
    """Both curves as one document. nan becomes None.

    widths : +/- of before, of after and of what lies between them; engines : how many they are from
    same : the plan changes nothing that a curve depends on; said : sentences of the simulation
    fine : the speeds that are fine, of fine_of; the others are of the quick curves
    whole : False where the band is of fewer engines than were wanted
    """
    bands = [_listed(one) for one in widths] if widths else [[], [], []]
    return {
        "of": of, "stage": stage, "speeds": list(map(float, speeds)), "before": _listed(before_kw),
        "after": _listed(after_kw), "margins": [_listed(one) for one in margins], "widths": bands,
        "engines": engines, "same": same, "said": list(said), "fine": list(map(float, fine)), "fine_of": fine_of,
        "whole": whole, "program": program(),
    }  # fmt: skip


def has_come(document: Mapping[str, Any] | None, of: str, upto: str) -> bool:
    """Whether curves are of this very plan and program, and have come as far as that stage."""
    if document is None or document["of"] != of or document.get("program") != program():
        return False
    here, there = STAGES.index(document["stage"]), STAGES.index(upto)
    return here > there or (here == there and document["whole"])


def stage_words(document: Mapping[str, Any], *, live: bool) -> str:
    """How far the curves have come, in a sentence. live : whether they are being worked on."""
    match document["stage"]:
        case "coarse":
            return "Quick: long cells, every second speed."
        case "part":
            done, all_of = document["fine"], document.get("fine_of", 0)
            lead = f"{len(done)} of {all_of} speeds so far" if live else f"Stopped after {len(done)} of {all_of} speeds"
            return f"{lead}: {_places(document)} these are the fine curves; the rest is of the quick ones."
        case "fine":
            return "With the usual cells."
    stopped = "" if document.get("whole", True) else " It was stopped before it had all engines, and is less sure."
    return f"With the usual cells, and what your measuring leaves open.{stopped}"


def _places(document: Mapping[str, Any]) -> str:
    """Where the curves are fine."""
    done = document["fine"]
    if done == document["speeds"][: len(done)]:
        return f"up to {done[-1]:g} rev/min"
    return f"at {', '.join(f'{one:g}' for one in done)} rev/min"


def _listed(values: Sequence[float]) -> list[float | None]:
    return [float(one) if math.isfinite(one) else None for one in values]


def _numbers(values: Sequence[float | None]) -> list[float]:
    return [math.nan if one is None else one for one in values]


def curves_drawing(document: Mapping[str, Any]) -> Drawing:
    """Power before and after, what lies between them, and the knock margin. SheetError where nothing came out."""
    speeds = document["speeds"]
    before, after = _numbers(document["before"]), _numbers(document["after"])
    was, now, between = (_numbers(one) for one in document["widths"])
    by = [b - a for a, b in zip(before, after, strict=True)]
    margins = [_numbers(one) for one in document["margins"]]

    def line(name: str, role: Role, values: Sequence[float], width: Sequence[float] = ()) -> Line:
        return Line(name, role, speeds, values, dots=True, plus_minus=width, band=bool(width))

    panels = (
        Panel("power, kW", (line("as it is", "today", before, was), line("after", "target", after, now)), 62.0),
        Panel("more (or less) power by the plan, kW", (line("after less before", "target", by, between),), 30.0),
        Panel("knock margin, octane", (line("as it is", "today", margins[0]), line("after", "target", margins[1])),
              24.0),
    )  # fmt: skip
    missing = tuple(speed for speed, one, two in zip(speeds, before, after, strict=True) if math.isnan(one + two))
    step = 500.0 if speeds[-1] - speeds[0] <= 6000.0 else 1000.0
    plot = CurvePlot(
        "plan-curves", "Power before and after the plan, simulated", " ".join(curves_words(document)),
        "crank speed, rev/min", speeds[0], speeds[-1], step, panels, missing=missing, marks=_marks(document),
    )  # fmt: skip
    return curve_plot(plot)


def _marks(document: Mapping[str, Any]) -> tuple[Mark, ...]:
    """Where the fine curves end, and the quick ones go on."""
    done = document["fine"] if document["stage"] == "part" else []
    ends = done and done == document["speeds"][: len(done)]
    return (Mark(done[-1], "fine up to here, quick beyond"),) if ends else ()


def curves_words(document: Mapping[str, Any]) -> list[str]:
    """What the curves say, in a few sentences."""
    speeds = document["speeds"]
    before, after = _numbers(document["before"]), _numbers(document["after"])
    words = []
    if document["stage"] == "part":
        words.append(f"Fine {_places(document)}; the rest is of the quick curves.")
    if document["same"]:
        return [*words, "The plan changes nothing that the simulated power depends on: one curve lies on the other."]
    best = [max(((v, s) for v, s in zip(values, speeds, strict=True) if math.isfinite(v)), default=None)
            for values in (before, after)]  # fmt: skip
    if best[0] and best[1]:
        words.append(
            f"Most power {best[0][0]:.2f} kW at {best[0][1]:g} rev/min as it is, {best[1][0]:.2f} kW at "
            f"{best[1][1]:g} after."
        )
    by = {s: b - a for s, a, b in zip(speeds, before, after, strict=True) if math.isfinite(b - a)}
    if by:
        most, least = max(by, key=lambda s: by[s]), min(by, key=lambda s: by[s])
        words.append(f"It gains most at {most:g} rev/min, {by[most]:+.2f} kW" + (
            f", and loses most at {least:g}, {by[least]:+.2f} kW." if by[least] < 0.0 else "; nowhere does it lose."
        ))  # fmt: skip
    between = _numbers(document["widths"][2])
    if between:
        sure = [s for s, d in by.items() if abs(d) > between[speeds.index(s)]]
        if not sure:
            words.append("Nowhere is the difference larger than what the +/- of your readings leaves open.")
        else:
            words.append(
                f"At {len(sure)} of {len(by)} speeds the difference is larger than what the +/- of your readings "
                f"leaves open (from {document['engines']} engines within it; the model's own error is not in it)."
            )
    knocking = [f"{s:g}" for s, m in zip(speeds, _numbers(document["margins"][1]), strict=True) if m < 0.0]
    if knocking:
        words.append(f"Careful: at {', '.join(knocking)} rev/min this fuel may knock after the plan.")
    return words


def curves_rows(document: Mapping[str, Any]) -> list[tuple[str, str, str, str, str]]:
    """Speed, before, after, by how much with its +/-, knock margins: a table for those who do not see the drawing."""
    rows = []
    between = _numbers(document["widths"][2])
    pairs = zip(document["speeds"], document["before"], document["after"], *document["margins"], strict=True)
    for i, (speed, a, b, m, n) in enumerate(pairs):
        by = "" if a is None or b is None else f"{b - a:+.2f}"
        if by and between and math.isfinite(between[i]):
            by += f" ± {between[i]:.2f}"
        first, second = ("no result" if one is None else f"{one:.2f}" for one in (a, b))
        knock = ", ".join("none" if one is None else f"{one:.0f}" for one in (m, n))
        quick = ", quick" if document["stage"] == "part" and speed not in document["fine"] else ""
        rows.append((f"{speed:g}{quick}", first, second, by, knock))
    return rows
