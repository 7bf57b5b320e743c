"""What a builder wishes of the sheets, and the engine they are for: as it is, with its deck done, as planned."""

from dataclasses import dataclass, field
from typing import Literal

from scribeline.engine import EngineRecord
from scribeline.errors import SheetError
from scribeline.geometry.work_out import WorkedOut, work_out
from scribeline.marking.printer import Printer
from scribeline.marking.wrap import PAPER_MM
from scribeline.plan.carry_out import carry_out
from scribeline.plan.description import Stage
from scribeline.plan.order import in_order, stage_of
from scribeline.plan.steps import Plan
from scribeline.tasks.pipe_sheets import PipeMaking

Format = Literal["pdf", "svg", "dxf"]
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


@dataclass(frozen=True)
class Worked:
    """The engine that sheets are made for.

    out : as it is
    on_deck : with everything done that moves the deck, before any port is cut: what a wrap is laid on
    target : when the plan is done; None without a plan
    """

    out: WorkedOut
    on_deck: WorkedOut
    target: WorkedOut | None
    plan: Plan | None

    @property
    def latest(self) -> WorkedOut:
        """The engine as it shall be, or as it is without a plan."""
        return self.target or self.out

    @property
    def deck_taken_mm(self) -> float:
        """How much lower the deck stands on the barrel when the ports are marked out, from how the ports moved."""
        found = [0.0]
        for port in self.out.record.ports:
            before, after = (_roof_from_deck(out, port.name) for out in (self.out, self.on_deck))
            if before is not None and after is not None:
                found.append(before - after)
        return max(found, key=abs)


def worked_for(record: EngineRecord, plan: Plan | None = None) -> Worked:
    """Work out an engine and what a plan makes of it; PlanError where a step cannot be done."""
    out = work_out(record, draws=0)
    if plan is None:
        return Worked(out, out, None, None)
    steps, _ = in_order(plan.steps)
    first = [step for step in steps if stage_of(step) == Stage.DECK]
    on_deck = work_out(carry_out(record, first, plan.box), draws=0) if first else out
    return Worked(out, on_deck, work_out(carry_out(record, steps, plan.box), draws=0), plan)


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


def _roof_from_deck(out: WorkedOut, name: str) -> float | None:
    roof, deck = (out.values.get(key) for key in (f"ports.{name}.roof_depth_mm", "deck_clearance_mm"))
    if roof is None or deck is None or roof.value is None or deck.value is None:
        return None
    return roof.value + deck.value
