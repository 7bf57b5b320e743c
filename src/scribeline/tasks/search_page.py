"""Plans that a search found as one page: what each buys for how much metal, who limits what, and every figure."""

from collections.abc import Iterator
from html import escape
from math import isfinite

from scribeline.marking.curve_plot import CurvePlot, Line, Panel, curve_plot
from scribeline.marking.plans_plot import PlanDot, plans_plot
from scribeline.marking.shapes import Drawing
from scribeline.marking.shares_plot import Bar, SharesPanel, shares_plot
from scribeline.plan.limits import statements
from scribeline.plan.merits import MERITS, Swept
from scribeline.plan.phrases import shown
from scribeline.plan.search_plans import PlanFound, Searched
from scribeline.plan.search_words import CAREFUL, NEVER_PROVED, careful, explained, verdict
from scribeline.plan.stacks import stack_words
from scribeline.plan.who_limits import WhoLimits, answer
from scribeline.sources import source
from scribeline.tasks.curve_page import figures, listed, page, warned
from scribeline.tasks.search import SOURCES, Search, stack_rows
from scribeline.tasks.search_text import STOPPED
from scribeline.units import Units, in_inches, length_number, unit_of, with_inches

_SHOWN = ("peak_kw", "middle_rpm", "band_kw")


def search_page(search: Search, units: Units = "mm") -> str:
    """What was found, as one page of text that loads nothing. units : what lengths are written in"""
    s = search.searched
    merit = s.goal.number
    facts = [("today", f"{s.before[s.goal.merit]:.{merit.digits}f} {merit.unit}")]
    if s.best is not None:
        facts.append(("at most", f"{s.best.merits[s.goal.merit]:.{merit.digits}f} {merit.unit}"))
        facts.append(("plans", str(len(s.plans))))
    said = [statement.text for statement in statements(s.space.table)]
    notes = [verdict(s), *said, NEVER_PROVED, *([] if s.finished else [STOPPED])]
    sections: list[tuple[str, str, Iterator[str]]] = [("What came of it", "beside", warned(notes))]
    if s.plans:
        sections.append(("Gain against metal", "", figures([plans_drawing(s, units)])))
        sections.append(("The plans, gentlest first", "", _plans(s, units)))
        sections.append(("All figures", "", _table(s, units)))
        sections.append(("Power of today's engine and of two plans", "", figures([curves_drawing(s)])))
    if search.who is not None:
        sections.append(("Who limits what", "", _who(search.who)))
    if search.stacks is not None:
        sections.append(("Gaskets and deck", "", _stacks(search, units)))
    speeds = ", ".join(f"{speed:g}" for speed in s.speeds.points)
    how = (
        f"{s.evaluated} engines were simulated at {speeds} rev/min; limits refused {s.refused} more before that. "
        f"{s.generations} generations, {s.seconds:.0f} s. The finalists were confirmed with cells of half the length."
    )
    sections += [
        ("How it was searched", "beside", listed([how, *(f"Not searched: {left}" for left in s.space.left_out)])),
        ("Relies on", "beside", listed(source(key).text for key in SOURCES)),
        ("Cautions", "beside", listed(caution.text for caution in search.cautions)),
    ]
    return with_inches(page(search.record, f"Plans towards {s.goal.typed}", facts, sections), units)


def plans_drawing(s: Searched, units: Units = "mm") -> Drawing:
    """What each plan gains against the metal it costs. SheetError without a plan."""
    merit = s.goal.number
    dots = [
        PlanDot(i, plan.metal_mm, plan.gain, plan.least_gain, plan.most_gain) for i, plan in enumerate(s.plans, start=1)
    ]
    return plans_plot(
        "plans",
        "What each plan gains against the metal it costs",
        verdict(s),
        f"gain in {merit.label}, {merit.unit}",
        dots,
        units,
    )


def who_drawing(who: WhoLimits) -> Drawing:
    """The shares of each group in most power, in where it lies, and in the band."""
    panels = []
    for key in _SHOWN:
        one = who.of(key)
        digits = next(merit.digits for merit in MERITS if merit.key == key)
        bars = zip(one.groups, map(float, one.shares), map(float, one.plus_minus), map(float, one.alone), strict=True)
        panels.append(SharesPanel(one.quantity, one.unit, digits, tuple(Bar(*bar) for bar in bars)))
    return shares_plot("who-limits", "Who limits what", " ".join(answer(who.of(key)) for key in _SHOWN), panels)


def curves_drawing(s: Searched) -> Drawing:
    """Power against crank speed: today, the gentlest plan and the one that gains most."""
    assert s.best is not None
    lines = [_line("today", "today", s.curve)]
    gentlest = s.plans[0]
    if gentlest is not s.best:
        lines.append(_line("plan 1", "transfer curve", gentlest.curve))
    number = s.plans.index(s.best) + 1
    lines.append(_line(f"plan {number}", "target", s.best.curve))
    points = s.speeds.points
    words = "Power against crank speed, today's engine broken, the plan that gains most in colour."
    plot = CurvePlot(
        "plans-power", "Power today and after", words, "crank speed, rev/min", points[0], points[-1], 1000.0,
        (Panel("power, kW", tuple(lines), 60.0),),
    )  # fmt: skip
    return curve_plot(plot)


def _line(name: str, role: str, curve: Swept) -> Line:
    return Line(name, role, curve.speeds_rpm.tolist(), curve.power_kw.tolist(), dots=True)  # type: ignore[arg-type]


def _plans(s: Searched, units: Units) -> Iterator[str]:
    for number, plan in enumerate(s.plans, start=1):
        yield f"<h3>Plan {number}{_mark(number, plan, s)}</h3><ol>"
        yield from (f"<li>{escape(in_inches(shown(step), units))}</li>" for step in plan.steps)
        yield "</ol>"
        yield from (f"<p>{escape(sentence)}</p>" for sentence in explained(plan, s))
        yield from warned([f"{CAREFUL[key]}." for key in careful(plan, s)])


def _mark(number: int, plan: PlanFound, s: Searched) -> str:
    marks = [*(["the gentlest"] if number == 1 else []), *(["gains most"] if plan is s.best else [])]
    return f": {', '.join(marks)}" if marks and len(s.plans) > 1 else ""


def _table(s: Searched, units: Units) -> Iterator[str]:
    columns = [merit for merit in MERITS if isfinite(s.before[merit.key])]
    yield '<div class="wide-table" tabindex="0"><table><tr><th></th>'
    for merit in columns:
        label = s.goal.number.label if merit.key == s.goal.merit else merit.label
        yield f"<th>{escape(label)} {escape(merit.unit)}</th>"
    yield f"<th>metal {unit_of(units)}</th></tr>"
    rows = [("today", s.before, 0.0), *((f"plan {i}", p.merits, p.metal_mm) for i, p in enumerate(s.plans, start=1))]
    for name, merits, metal in rows:
        cells = "".join(f"<td>{merits[m.key]:.{m.digits}f}</td>" for m in columns)
        yield f"<tr><td>{name}</td>{cells}<td>{length_number(metal, units)}</td></tr>"
    yield "</table></div>"


def _who(who: WhoLimits) -> Iterator[str]:
    yield "<p>The gain of the plan that gains most, shared out among what it changes:</p>"
    yield from listed(f"{group}: {said}" for group, said in who.groups.items())
    yield from figures([who_drawing(who)])
    yield from listed(answer(one) for one in who.shares)


def _stacks(search: Search, units: Units) -> Iterator[str]:
    stacks = search.stacks
    assert stacks is not None
    if not stacks.found:
        yield from warned([stacks.why_not()])
        return
    count = f"{len(stacks.found)} of {stacks.tried} stacks put the squish gap in range with its +/-"
    unit = unit_of(units)
    heads = (
        "base",
        "head",
        f"metal {unit}",
        f"squish {unit}",
        "chance outside",
        "compression",
        "trapped",
        "exhaust open °",
    )
    yield f"<p>{count}; least metal first.</p>"
    yield '<div class="wide-table" tabindex="0"><table><tr>' + "".join(f"<th>{one}</th>" for one in heads) + "</tr>"
    for row in stack_rows(stacks, search.record, search.searched.space.box, 8):
        one = row.stack
        exhaust = row.timing.get("exhaust_duration_deg")
        cells = (
            escape(in_inches(stack_words(one.base), units)), escape(in_inches(stack_words(one.head), units)),
            length_number(one.cut_mm, units),
            f"{length_number(one.mean_mm, units)} ± {length_number(one.mean_plus_minus_mm, units)}",
            f"{100 * one.chance_outside:.1f} %",
            f"{one.compression:.2f}", f"{one.trapped:.2f}" if isfinite(one.trapped) else "",
            "" if exhaust is None else f"{exhaust:.1f}",
        )  # fmt: skip
        yield "<tr>" + "".join(f"<td>{cell}</td>" for cell in cells) + "</tr>"
    yield "</table></div>"
