"""A search for plans as a page shows it: live, cut off half way, or finished; always from one document kept on disk.

    state : "searching", "stopped" (asked to), "done"; a document that says "searching" while nobody does was cut off
    front : what the quick setting found so far that nothing beats in gain and metal; plans : confirmed, once it is done

The front is read from the search's own journal, so that what a page shows is exactly what outlives a power cut.
"""

import json
import math
import time
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from scribeline.engine import EngineRecord
from scribeline.errors import ScribelineError, SearchError
from scribeline.marking.drafting import extent
from scribeline.marking.plans_plot import PlanDot, places_on_plot, plans_plot
from scribeline.marking.shapes import Drawing
from scribeline.plan.merits import BY_KEY, MERITS, SEARCH, merits_of, sweep_many
from scribeline.plan.phrases import shown
from scribeline.plan.search import nondominated
from scribeline.plan.search_goals import WORDS, Goal, goal_of, road_for, speeds_for
from scribeline.plan.search_plans import PlanFound, Searched
from scribeline.plan.search_space import CUTTING_TOOLS, GROUPS, REACHES, USUAL_TOOLS, Space, space_for
from scribeline.plan.search_words import CAREFUL, NEVER_PROVED, careful, explained, verdict
from scribeline.plan.steps import Plan, Step
from scribeline.tasks.inline_drawings import InlineDrawing, inline_drawing
from scribeline.tasks.plan_in_hand import step_document
from scribeline.tasks.plan_kept import journal_of, keep
from scribeline.tasks.search import ALSO, search_plans
from scribeline.units import Units, length_number, unit_of

EVALUATIONS = (300, 1000, 2000)
"""How long a search may go on, in engines: a minute's worth, the usual, a patient one."""
GOALS = {
    "most": "the most power within all limits",
    "pull": "pull: torque low down",
    "top-speed": "top speed on the level",
    "band": "mean power in a band of crank speeds",
}
_EVERY_S = 0.5
_APART = 0.06
"""Share of the picture by which two plans of a front must differ to be shown both; judgement, a button's width."""

Tell = Callable[[Mapping[str, Any]], object]


def asked(plan: Plan) -> dict[str, Any]:
    """What a search is asked for, refused before it begins where it is not understood. SearchError."""
    wanted = plan.wanted
    goal = goal_of(wanted.goal or "most")
    tools = USUAL_TOOLS if wanted.tools is None else wanted.tools
    for tool in tools:
        if tool not in CUTTING_TOOLS:
            raise SearchError(f"{tool}\n    accepted: {', '.join(CUTTING_TOOLS)}\n    what to do: choose of these")
    also = ("pull",) if wanted.also is None else wanted.also
    unknown = [word for word in also if word not in ALSO]
    if unknown:
        raise SearchError(f"{unknown[0]}\n    accepted: {', '.join(ALSO)}\n    what to do: choose of these")
    return {"goal": goal.typed, "tools": list(tools), "keep": list(wanted.keep), "also": list(also)}


def parts_to_keep(record: EngineRecord) -> tuple[str, ...]:
    """Words by which a builder may keep something as it is: groups first, then parts, then ports by name."""
    parts = {part for reach in REACHES.values() for part in reach.parts}
    return tuple(dict.fromkeys((*GROUPS, *sorted(parts), *(port.name for port in record.ports))))


def search(
    place: Path, of: str, record: EngineRecord, plan: Plan, evaluations: int, *, tell: Tell,
    stopped: Callable[[], bool],
) -> dict[str, Any]:  # fmt: skip
    """Search for plans in a worker process, from where the same search was before; kept all the while.

    tell : gets what is being done, how much of it, the best so far, and word whenever what is kept has changed
    """
    question = asked(plan)
    goal = goal_of(question["goal"])
    must = goal.merit == "peak_kw"
    space = space_for(record, plan.box, question["tools"], question["keep"], mend=must, table=plan.limits)
    journal = journal_of(place, record, plan)
    live = _Live(place, of, question, goal, space, journal, evaluations, tell, stopped)
    live.show("searching", "searching", 0, evaluations, "")
    try:
        found = search_plans(
            record, goal, plan.box, tools=question["tools"], keep=question["keep"], limits=plan.limits, mend=must,
            kept=tuple(ALSO[word] for word in question["also"]), evaluations=evaluations, journal=journal, shares=False,
            progress=live.progress,
        )  # fmt: skip
    except _StopError:
        return live.show("stopped", "", live.done, evaluations, live.best)
    except SearchError as refused:
        live.show("stopped", "", live.done, evaluations, "", error=str(refused))
        raise
    s = found.searched
    document = live.document("done" if s.finished else "stopped", s.evaluated, evaluations, live.best)
    document |= found_document(s)
    keep(place, "search", document)
    tell({"kept": "search"})
    return document


# No figure comes for so long on a machine that has not simulated since scribeline was brought up to date.
_FIRST = "; after an update the simulation is compiled first, which takes up to a minute"


class _StopError(Exception):
    """The builder asked for an end: what was found so far is kept as it is, and not confirmed."""


class _Live:
    """What is known while the search goes on."""

    def __init__(
        self, place: Path, of: str, question: Mapping[str, Any], goal: Goal, space: Space, journal: Path,
        evaluations: int, tell: Tell, stopped: Callable[[], bool],
    ) -> None:  # fmt: skip
        self.place, self.of, self.question, self.goal, self.space = place, of, question, goal, space
        self.journal, self.evaluations, self.tell, self.stopped = journal, evaluations, tell, stopped
        self.front: list[dict[str, Any]] = []
        self.today: float | None = None
        self.read_at, self.told_at, self.done, self.kept, self.best = 0.0, 0.0, 0, 0, ""

    def progress(self, what: str, done: int, count: int, best: str) -> bool | None:
        self.best = best or self.best
        if what == "searching":
            self.done = done
        if self.stopped():
            if what != "searching":
                raise _StopError
            self.show(
                "stopped", what, done, count, self.best
            )  # its end may come before the journal is written once more
            return True
        now = time.monotonic()
        if now - self.told_at >= _EVERY_S or done >= count:
            self.told_at = now
            self.show("searching", what, done, count, self.best)
        return None

    def show(self, state: str, what: str, done: int, count: int, best: str, error: str = "") -> dict[str, Any]:
        changed = self._read()
        document = self.document(state, self.done, self.evaluations, best) | ({"error": error} if error else {})
        if changed or state != "searching" or not self.done:
            keep(self.place, "search", document)
        told = {"doing": what, "done": done, "of": count, "best": best, "kept": "search" if changed else ""}
        self.tell(told | {"what": _FIRST} if what == "searching" and not done else told)
        return document

    def _read(self) -> bool:
        try:
            at = self.journal.stat().st_mtime
        except OSError:
            return False
        if at == self.read_at:
            return False
        self.read_at = at
        tried = tried_in(self.journal)
        self.kept = len(tried)
        self.front = front_of(tried, self.space, self.goal, self._today())
        return True

    def _today(self) -> float:
        """The goal's number of today's engine at the quick setting."""
        if self.today is None:
            speeds, record = speeds_for(self.goal, self.space.record), self.space.record
            (swept,) = sweep_many([record], speeds.points, SEARCH, side_by_side=False)
            self.today = merits_of(swept, speeds, road_for(self.goal, record))[self.goal.merit]
        return self.today

    def document(self, state: str, done: int, most: int, best: str) -> dict[str, Any]:
        """evaluated : what is kept, where a search that goes on has not walked through all of it again yet."""
        merit = self.goal.number
        return {
            "of": self.of, "asked": dict(self.question), "state": state,
            "evaluated": max(done, min(self.kept, most)), "most": most,
            "best": best, "label": merit.label, "unit": merit.unit, "digits": merit.digits, "front": self.front,
            "plans": [], "verdict": "", "left_out": list(self.space.left_out), "evaluations": self.evaluations,
        }  # fmt: skip


def tried_in(journal: Path) -> list[Any]:
    """What a journal holds; nothing where it cannot be read."""
    try:
        tried: list[Any] = json.loads(journal.read_text(encoding="utf-8"))["tried"]
    except (OSError, ValueError, KeyError):
        return []
    return tried


def front_of(tried: list[Any], space: Space, goal: Goal, today: float) -> list[dict[str, Any]]:
    """What designs of a journal gain for how much metal, those that none beats in both; gentlest first.

    today : the goal's number of today's engine at the quick setting. Empty where nothing gains.
    """
    allowed = [(design, aims) for design, aims, passed, _ in tried if max(passed, default=0.0) <= 0.0]
    if not allowed:
        return []
    sides = np.array([(aims[0], aims[-1]) for _, aims in allowed], float)
    best = sorted((float(sides[i, 1]), float(-sides[i, 0] - today), allowed[i][0]) for i in _nothing_beats(sides))
    gains = [(cost, gain, design) for cost, gain, design in best if gain > 1e-6]
    found = []
    for cost, gain, design in _that_differ(gains):
        steps = space.steps(design)
        found.append(_point(steps, gain, max(cost - 0.01 * len(steps), 0.0)))
    return found


def _that_differ(points: Sequence[tuple[float, float, Any]]) -> list[tuple[float, float, Any]]:
    """Of points along a front those that can be told apart in a picture, the one that gains most among them."""
    if not points:
        return []
    wide, high = max(points[-1][0], 1e-9), max(point[1] for point in points)
    kept = [points[-1]]
    for point in reversed(points[:-1]):
        if math.hypot((point[0] - kept[-1][0]) / wide, (point[1] - kept[-1][1]) / high) >= _APART:
            kept.append(point)
    return kept[::-1]


def _nothing_beats(sides: Any) -> list[int]:
    # the whole comparison is of every pair: only the best of each amount of metal comes in
    order = np.lexsort((sides[:, 0], sides[:, 1]))
    least, kept = math.inf, []
    for i in order:
        if sides[i, 0] < least - 1e-12:
            least = sides[i, 0]
            kept.append(int(i))
    return [kept[i] for i in nondominated(sides[kept])]


def _point(steps: Sequence[Step], gain: float, metal_mm: float) -> dict[str, Any]:
    return {
        "says": [shown(step) for step in steps], "steps": [step_document(step) for step in steps], "gain": gain,
        "metal_mm": round(metal_mm, 6),
    }  # fmt: skip


def found_document(s: Searched) -> dict[str, Any]:
    """What a search came to, as its document holds it."""
    return {
        "plans": [_plan(number, plan, s) for number, plan in enumerate(s.plans, start=1)],
        "verdict": verdict(s), "reached": s.reached, "seconds": round(s.seconds, 1), "refused": s.refused,
        "never_proved": NEVER_PROVED,
        "before": {key: value for key, value in s.before.items() if math.isfinite(value)},
    }  # fmt: skip


def _plan(number: int, plan: PlanFound, s: Searched) -> dict[str, Any]:
    marks = [*(["the gentlest"] if number == 1 else []), *(["gains most"] if plan is s.best else [])]
    return _point(plan.steps, plan.gain, plan.metal_mm) | {
        "number": number, "marks": marks if len(s.plans) > 1 else [], "explained": list(explained(plan, s)),
        "least": plan.least_gain if math.isfinite(plan.least_gain) else None,
        "most": plan.most_gain if math.isfinite(plan.most_gain) else None,
        "careful": [CAREFUL[key] for key in careful(plan, s)],
        "merits": {key: value for key, value in plan.merits.items() if math.isfinite(value)},
    }  # fmt: skip


def points_of(document: Mapping[str, Any]) -> list[dict[str, Any]]:
    """What can be picked: the confirmed plans where there are any, else what was found so far. Gentlest first."""
    points: Sequence[Mapping[str, Any]] = document["plans"] or document["front"]
    return [{**one, "number": number} for number, one in enumerate(points, start=1)]


def front_drawing(document: Mapping[str, Any], units: Units = "mm") -> Drawing:
    """Gain against metal, of the confirmed plans or of what was found so far. SheetError with nothing to draw."""
    dots = _dots(document)
    so_far = "" if document["plans"] else ", so far, at the quick setting"
    words = document["verdict"] or f"{len(dots)} plans so far that nothing else beats in gain and metal."
    return plans_plot(
        "plan-front", f"What plans gain against the metal they cost{so_far}", words,
        f"gain in {document['label']}, {document['unit']}{so_far}", dots, units,
    )  # fmt: skip


def _dots(document: Mapping[str, Any]) -> list[PlanDot]:
    return [
        PlanDot(one["number"], one["metal_mm"], one["gain"], _or_nan(one.get("least")), _or_nan(one.get("most")))
        for one in points_of(document)
    ]


def front_places(document: Mapping[str, Any], units: Units = "mm") -> tuple[InlineDrawing, list[tuple[float, float]]]:
    """The picture for a page, and where each plan lies on it: from the left and from the top, percent."""
    drawing = front_drawing(document, units)
    box = extent(drawing)
    places = [
        (100.0 * (x - box.left) / box.width, 100.0 * (box.top - y) / box.height)
        for x, y in places_on_plot(_dots(document), units)
    ]
    return inline_drawing(drawing), places


def with_found(steps: Sequence[Mapping[str, Any]], point: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The steps of a document when a found plan is taken: its own, and of the former ones what no search looks at."""
    kept = [dict(step) for step in steps if step.get("do") not in REACHES]
    return [*map(dict, point["steps"]), *kept]


def _or_nan(value: float | None) -> float:
    return math.nan if value is None else value


def figures_of(document: Mapping[str, Any], units: Units = "mm") -> tuple[list[str], list[list[str]]]:
    """Headings and rows of every figure of the confirmed plans, today's engine first."""
    columns = [merit for merit in MERITS if merit.key in document.get("before", {})]
    heads = [f"{BY_KEY[merit.key].label}, {merit.unit}" for merit in columns] + [f"metal, {unit_of(units)}"]

    def row(name: str, merits: Mapping[str, float], metal: float) -> list[str]:
        cells = [f"{merits[m.key]:.{m.digits}f}" if m.key in merits else "none" for m in columns]
        return [name, *cells, length_number(metal, units)]

    rows = [row("today", document.get("before", {}), 0.0)]
    rows += [row(f"plan {one['number']}", one["merits"], one["metal_mm"]) for one in document["plans"]]
    return heads, rows


def goal_words(typed: str) -> str:
    """A typed goal in words; the typed text where it is none.

    >>> goal_words("8000:10500")
    'mean power from 8000 to 10500 rev/min'
    """
    try:
        goal = goal_of(typed or "most")
    except ScribelineError:
        return typed
    least = f", at least {goal.least:g} {goal.number.unit}" if goal.least is not None else ""
    word = next((word for word, merit in WORDS.items() if merit == goal.merit), "band")
    return (goal.number.label if goal.band else GOALS[word]) + least
