"""Plans that a search found as plain text: the verdict, the plans, who limits what, and what it all rests on."""

import textwrap
from collections.abc import Iterator, Sequence
from math import isfinite

from scribeline.engine import EngineRecord
from scribeline.plan.box import Box
from scribeline.plan.limits import statements
from scribeline.plan.merits import MERITS
from scribeline.plan.phrases import shown
from scribeline.plan.search_words import CAREFUL, NEVER_PROVED, careful, explained, verdict
from scribeline.plan.stacks import Stacks, stack_words
from scribeline.plan.who_limits import WhoLimits, answer
from scribeline.tasks.search import SOURCES, Search, StackRow, stack_rows
from scribeline.units import Units, in_inches, length, length_number, unit_of, with_inches

WIDTH = 100
STOPPED = "Stopped before its end: these are the best so far. The same command goes on where it was."


def search_text(search: Search, units: Units = "mm") -> str:
    """What was found, at most WIDTH characters wide but for the table. units : what lengths are written in"""
    s = search.searched
    name = f"{search.record.name}{' (INVENTED, for demonstration)' if search.record.invented else ''}"
    lines = [name, f"goal: {s.goal.typed}, that is {s.goal.number.label}", *_wrapped(verdict(s), "", units)]
    if not s.finished:
        lines += _wrapped(STOPPED, "")
    for statement in statements(s.space.table):
        lines += _wrapped(statement.text, "! ", units)
    lines += ["", *_wrapped(NEVER_PROVED, "")]
    if search.stacks is not None:
        lines += ["", *stacks_text(search.stacks, search.record, s.space.box, most=4, units=units)]
    for number, plan in enumerate(s.plans, start=1):
        lines += ["", f"PLAN {number}" + (": the gentlest" if number == 1 and len(s.plans) > 1 else "")]
        lines += [f"   {i}. {in_inches(shown(step), units)}" for i, step in enumerate(plan.steps, start=1)]
        for sentence in explained(plan, s):
            lines += _wrapped(sentence, "  ", units)
        for key in careful(plan, s):
            lines += _wrapped(f"{CAREFUL[key]}.", "  ! ", units)
    if s.plans:
        lines += ["", *_table(search, units)]
    if search.who is not None:
        lines += ["", "WHO LIMITS WHAT (the gain of the plan that gains most, shared out)", *_who(search.who, units)]
    lines += ["", "HOW IT WAS SEARCHED"]
    speeds = ", ".join(f"{speed:g}" for speed in s.speeds.points)
    lines += _wrapped(
        f"{s.evaluated} engines simulated at {speeds} rev/min, {s.refused} more refused by limits before that, "
        f"{s.generations} generations, {s.seconds:.0f} s. Finalists confirmed with cells of half the length.", "  - ",
    )  # fmt: skip
    for left in s.space.left_out:
        lines += _wrapped(f"Not searched: {left}", "  - ", units)
    lines += ["", "RELIES ON", *_wrapped(", ".join(SOURCES), "  "), "", "CAUTIONS"]
    for caution in search.cautions:
        lines += _wrapped(caution.text, "  * ", units)
    return "\n".join(lines)


def who_text(record: EngineRecord, who: WhoLimits, units: Units = "mm") -> list[str]:
    """Who limits what as lines of text. units : what lengths are written in"""
    return [
        f"{record.name}{' (INVENTED, for demonstration)' if record.invented else ''}: who limits what",
        *_wrapped(NEVER_PROVED, ""), "", *_who(who, units), "",
        *_wrapped("A share is what a group adds, averaged over every order of making the changes; its +/- comes from "
                  f"{who.drawn} engines drawn within the +/- of the readings"
                  + (", where it was stopped." if who.stopped else "."), ""),
    ]  # fmt: skip


def _who(who: WhoLimits, units: Units) -> list[str]:
    lines = [
        line for group, said in who.groups.items() for line in _wrapped(in_inches(f"{group}: {said}", units), "  ")
    ]
    return lines + [line for one in who.shares for line in _wrapped(answer(one), "  - ")]


def stacks_text(stacks: Stacks, record: EngineRecord, box: Box, most: int = 8, units: Units = "mm") -> list[str]:
    """The gasket stacks with the least metal, then those with the highest compression, or why there is none."""
    gap = in_inches(f"{stacks.asked.low_mm:g} to {stacks.asked.high_mm:g} mm", units)
    asked = f"squish gap {gap} with its +/-"
    lines = [f"GASKETS AND DECK: {len(stacks.found)} of {stacks.tried} stacks put the {asked}"]
    if not stacks.found:
        return [
            *lines,
            *(line for part in stacks.why_not().splitlines() for line in _wrapped(part.strip(), "  ", units)),
        ]
    lines += ["  metal   squish      tightest   outside   compression      ports: exhaust, transfers, intake"]
    of = "{0}   {0}          {0}       ".format(unit_of(units))
    lines += [f"     {of:<28}limits   all    trapped   degrees open"]
    lines += ["  least metal first:"]
    lines += _stack_lines(stack_rows(stacks, record, box, most), units)
    by_compression = stack_rows(_with(stacks, stacks.by_compression), record, box, most)
    lines += ["  highest compression first:", *_stack_lines(by_compression, units)]
    if any(row.stack.reused for row in by_compression):
        lines += _wrapped(
            "Sheets called fitted were tightened before: measure them again, they may not seal twice.", "  "
        )
    return lines


def _with(stacks: Stacks, found: Sequence[object]) -> Stacks:
    return Stacks(stacks.asked, tuple(found), stacks.tried, stacks.relaxations, stacks.places)  # type: ignore[arg-type]


def _stack_lines(rows: Sequence[StackRow], units: Units) -> Iterator[str]:
    for row in rows:
        one = row.stack
        chance = f"{100 * one.chance_outside:.1f} %" if isfinite(one.chance_outside) else ""
        trapped = f"{one.trapped:.2f}" if isfinite(one.trapped) else ""
        degrees = ", ".join(f"{value:.1f}" for value in row.timing.values())
        yield (
            f"  {length_number(one.cut_mm, units):>5}   {_sure(one.mean_mm, one.mean_plus_minus_mm, units)} "
            f"{_sure(one.tightest_mm, one.tightest_plus_minus_mm, units)}  {chance:>6}   {one.compression:5.2f}"
            f"  {trapped:>7}   {degrees}"
        )
        cut = f"; {length(one.cut_mm, units)} by: {row.place}" if row.place else ""
        yield in_inches(f"          base {stack_words(one.base)}; head {stack_words(one.head)}{cut}", units)


def _sure(mm: float, plus_minus_mm: float, units: Units) -> str:
    return f"{length_number(mm, units)} ± {length_number(plus_minus_mm, units)}"


def _table(search: Search, units: Units) -> Iterator[str]:
    s = search.searched
    columns = [merit for merit in MERITS if isfinite(s.before[merit.key])]
    yield "ALL PLANS, simulated with the usual cells"
    for i, merit in enumerate(columns):
        label = merit.label
        if merit.key in ("band_kw", "low_nm"):
            first, last = s.speeds.band if merit.key == "band_kw" else s.speeds.low
            label += f", {first:g} to {last:g} rev/min"
        yield f"  {chr(97 + i)}  {label}, {merit.unit}"
    yield "        " + "".join(f"{chr(97 + i):>9}" for i in range(len(columns))) + f"  metal, {unit_of(units)}"
    rows = [("today", s.before, 0.0), *((f"plan {i}", p.merits, p.metal_mm) for i, p in enumerate(s.plans, start=1))]
    for name, merits, metal in rows:
        yield (
            f"  {name:<6}"
            + "".join(f"{merits[m.key]:>9.{m.digits}f}" for m in columns)
            + f"  {length_number(metal, units):>9}"
        )


def _wrapped(text: str, lead: str, units: Units = "mm") -> list[str]:
    return textwrap.wrap(with_inches(text, units), WIDTH, initial_indent=lead, subsequent_indent=" " * len(lead))
