"""A pipe designed from a page: what is typed, the work in a worker process, and what is shown of it."""

from collections.abc import Callable
from dataclasses import dataclass
from math import inf
from typing import Any

from scribeline.engine import EngineRecord
from scribeline.errors import GeometryError
from scribeline.tasks.inline_drawings import InlineDrawing, inline_drawing
from scribeline.tasks.pipe import Wanted, design_pipe
from scribeline.tasks.pipe_files import report_drawing, typed_length
from scribeline.tasks.pipe_record import record_with
from scribeline.tasks.pipe_text import pipe_text
from scribeline.units import Units, length, read_quantity, with_inches

LEAST_RPM, MOST_RPM = 500.0, 30000.0


@dataclass(frozen=True)
class PipeShown:
    """A designed pipe.

    record : the engine with it; said : in sentences; report : everything, as the command prints it
    """

    name: str
    record: EngineRecord
    drawing: InlineDrawing
    said: tuple[str, ...]
    report: str


def pipe_wanted(rpm: str, longest: str, widest: str, units: Units = "mm", *, wide: bool, rules_only: bool) -> Wanted:
    """What was typed; an empty length is no limit. TypedValueError and GeometryError for what cannot be.

    wide : power over a wide range, not most in a band; rules_only : without simulation, at once

    >>> pipe_wanted("9000", "48", "", "inch", wide=False, rules_only=True).longest_mm
    1219.2
    """
    speed = read_quantity(rpm, "rpm").value
    if not LEAST_RPM <= speed <= MOST_RPM:
        raise GeometryError(
            f"a pipe for {speed:g} rpm\n    accepted: {LEAST_RPM:g} to {MOST_RPM:g} rpm\n"
            "    what to do: type another speed"
        )
    return Wanted(
        speed, "wide" if wide else "band",
        longest_mm=typed_length("longest that fits", longest.strip() or None, 100.0, inf, units),
        widest_outside_mm=typed_length("widest that fits", widest.strip() or None, 20.0, inf, units),
        first_only=rules_only,
    )  # fmt: skip


def pipe_shown(
    record: EngineRecord,
    wanted: Wanted,
    units: Units = "mm",
    *,
    tell: Callable[[Any], object],
    stopped: Callable[[], bool],
) -> PipeShown:
    """Design it. A search that is stopped gives the best it had, compared as usual. Errors as `design_pipe`."""

    def progress(what: str, done: int, count: int) -> bool:
        tell((what, done, count))
        return what == "searching" and stopped()

    report = design_pipe(record, wanted, progress=progress)
    chosen, fitted = report.chosen, report.candidate("fitted")
    said = [f"{length(chosen.length_mm, units, 0)} from the flange to the open end."]
    for one, words in ((fitted, "The fitted pipe"), (chosen, "This pipe")):
        if one is not None and one.tuned is not None:
            said.append(
                f"{words}: most power {one.tuned.best_w / 1e3:.2f} kW at {one.tuned.best_rpm:.0f} rpm, above "
                f"90 % of it from {one.tuned.low_rpm:.0f} to {one.tuned.high_rpm:.0f} rpm."
            )
    if chosen.formula_rpm is not None:
        said.append(f"By the published formula it is tuned for {chosen.formula_rpm:.0f} rpm.")
    said += [with_inches(one, units) for one in report.remarks]
    return PipeShown(
        f"pipe for {wanted.speed_rpm:g} rpm",
        record_with(record, chosen.sections),
        inline_drawing(report_drawing(report, units)),
        tuple(said),
        pipe_text(report, units),
    )
