"""What a builder wishes of the sheets, and the engine they are for: as it is, with its deck done, as planned."""

from dataclasses import dataclass, field, replace
from typing import Literal

from scribeline.engine import EngineRecord
from scribeline.errors import SheetError
from scribeline.geometry.flat_pattern import Sheet as Metal
from scribeline.geometry.work_out import WorkedOut, work_out
from scribeline.marking.pipe_patterns import stock_named
from scribeline.marking.printer import Printer
from scribeline.marking.wrap import PAPER_MM
from scribeline.plan.cut_list import CutList, cut_list
from scribeline.plan.description import Stage
from scribeline.plan.limit_table import LimitTable
from scribeline.plan.limits import limits, statements
from scribeline.plan.order import stage_of
from scribeline.plan.steps import Plan
from scribeline.plan.what_if import what_if
from scribeline.tasks.pipe_sheets import PipeMaking
from scribeline.units import Units

Format = Literal["pdf", "svg", "dxf"]
DRAWS = 512
"""For the +/- of what the cut list says to expect: enough for two digits."""
FORMATS: tuple[Format, ...] = ("pdf", "svg", "dxf")


@dataclass(frozen=True)
class Wishes:
    """What was asked for.

    only : names of the sheets to make; all of them where it is empty
    sheet_mm : thickness of the paper that the wrap is printed on
    sleeve_mm : outside diameter of a loose sleeve for the mirrored wrap; None for the bore
    windows : ports are to be cut out of the wrap
    wheels_mm, bolt_mm : diameters of the degree wheels, and of the bolt they go on
    turns : which way the crank turns, seen from the wheel
    pipe : how the pipe is made of sheet
    units : what lengths on the sheets are written in; the check bars have both
    """

    paper: str = "A4"
    formats: tuple[Format, ...] = ("pdf",)
    only: tuple[str, ...] = ()
    printer: Printer = field(default_factory=Printer)
    sheet_mm: float = PAPER_MM
    sleeve_mm: float | None = None
    windows: bool = False
    wheels_mm: tuple[float, ...] = (120.0, 160.0)
    bolt_mm: float = 10.0
    turns: Literal["clockwise", "anticlockwise"] = "clockwise"
    pipe: PipeMaking = field(default_factory=PipeMaking)
    units: Units = "mm"


@dataclass(frozen=True)
class Worked:
    """The engine that sheets are made for.

    out : as it is
    on_deck : with everything done that moves the deck, before any port is cut: what a wrap is laid on
    target, cut : when the plan is done, and its cut list; None without a plan
    said : without a plan, what must be said of limits that the builder made looser or switched off
    """

    out: WorkedOut
    on_deck: WorkedOut
    target: WorkedOut | None = None
    cut: CutList | None = None
    said: tuple[str, ...] = ()

    @property
    def latest(self) -> WorkedOut:
        """The engine as it shall be, or as it is without a plan."""
        return self.target or self.out


def worked_for(record: EngineRecord, plan: Plan | None = None, table: LimitTable | None = None) -> Worked:
    """Work out an engine and what a plan makes of it; PlanError where a step cannot be done, or a limit is none.

    table : the builder's limits, in place of the plan's own
    """
    if table is not None:
        limits(table=table)
    if plan is None:
        out = work_out(record, draws=0)
        return Worked(out, out, said=tuple(one.text for one in statements(table)) if table else ())
    done = what_if(record, plan if table is None else replace(plan, limits=table))
    decked = sum(stage_of(step) == Stage.DECK for step in done.steps)  # they come first
    on_deck = work_out(done.records[decked], draws=0) if decked else done.before
    return Worked(done.before, on_deck, done.after, cut_list(done, DRAWS))


def pipe_of(metal_mm: float, stock: str) -> PipeMaking:
    """How a pipe is made of sheet of this thickness and size, butted and without a gap; the rest as it comes.

    >>> pipe_of(0.8, "600x400").metal.thickness_mm
    0.8
    """
    return PipeMaking(Metal(metal_mm), stock_named(stock))


def formats_of(typed: str) -> tuple[Format, ...]:
    """File formats from a list such as "pdf,svg".

    >>> formats_of("dxf, pdf")
    ('pdf', 'dxf')
    """
    wanted = {one.strip().lower() for one in typed.split(",") if one.strip()}
    if not wanted or not wanted <= set(FORMATS):
        raise SheetError(
            f"formats {typed!r}\n    accepted: one or more of {', '.join(FORMATS)}, with commas between them\n"
            "    what to do: pdf to print, svg to look at or edit, dxf for a machine or another drawing program"
        )
    return tuple(one for one in FORMATS if one in wanted)
