"""A pipe for a crank speed: first shape by published rules, made better by simulation; what a pipe is tuned for.

Every pipe is judged as it would be made, its sections rounded. The search is coarse; what it found is simulated again
at the usual fineness beside the first shape, and only what is better there is handed on. How it is written down stands
in pipe_text; the new record in pipe_record.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from math import floor, inf
from pathlib import Path
from typing import Literal

from scribeline.cycle.batches import batch
from scribeline.cycle.engine import Engine
from scribeline.cycle.from_record import Build, build_of
from scribeline.cycle.simulate import CycleResult, Settings
from scribeline.data.cautions import Caution, cautions_for
from scribeline.engine import EngineRecord, read_record_file
from scribeline.errors import CycleError, GeometryError
from scribeline.geometry import tuned_length
from scribeline.geometry.pipe_design import (
    WAVE_SPEED_M_S,
    Mounting,
    PipeLimits,
    PipeShape,
    first_shape,
    mounting_of,
    sections_of,
    tuned_length_of,
)
from scribeline.geometry.pipe_pieces import PipeSection
from scribeline.geometry.work_out import WorkedOut, work_out
from scribeline.models import gas_properties, resonance
from scribeline.plan.limits import Warning, warnings
from scribeline.plan.pipe_search import COARSE, Goal, Search, TunedFor, mean_power_w, refine, tuned_for
from scribeline.tasks.pipe_record import record_with

Progress = Callable[[str, int, int], bool | None]
Results = tuple[CycleResult | CycleError, ...]

SWEEP = tuple(0.60 + 0.035 * i for i in range(22))
"""Speeds at which pipes are set beside each other, over the speed asked for."""
CONFIRMED = 3  # of the best shapes of the coarse search
SOURCES = ("jennings-1973", "kolda-2003", "judgement", "common-practice", "geometry")


@dataclass(frozen=True)
class Wanted:
    """What the builder asks of a new pipe; lengths and diameters mm, inside, angles included, deg; None: as usual.

    speed_rpm : the speed it is to work best at; goal : power in a band around it, or wide
    longest_mm : along the middle line, flange to the end of the stinger
    widest_outside_mm : of the belly, outside, made of sheet of `sheet_mm`
    stinger_least_mm, stinger_most_mm : both left out, it is held at the handbook's larger diameter; one given, at that
    first_only : without simulation
    """

    speed_rpm: float
    goal: Literal["band", "wide"] = "band"
    diffusers: int = 1
    header_mm: float | None = None
    longest_mm: float | None = None
    widest_outside_mm: float | None = None
    sheet_mm: float = 1.0
    steepest_diffuser_deg: float | None = None
    steepest_baffle_deg: float | None = None
    stinger_least_mm: float | None = None
    stinger_most_mm: float | None = None
    stinger_length_mm: float | None = None
    first_only: bool = False


@dataclass(frozen=True)
class Candidate:
    """One pipe: its sections, what it is tuned for by the published formula, and by simulation where it was simulated.

    name : "fitted", "first" or "refined"; shape : None for a measured one
    results : at the speeds of the sweep; power_w : mean over the goal's speeds, None where there is no goal
    """

    name: str
    sections: tuple[PipeSection, ...]
    tuned_length_mm: float | None
    formula_rpm: float | None
    shape: PipeShape | None = None
    results: Results = ()
    tuned: TunedFor | None = None
    wave_m_s: float | None = None
    power_w: float | None = None

    @property
    def length_mm(self) -> float:
        return sum(one.length_mm for one in self.sections)


@dataclass(frozen=True)
class PipeReport:
    """Pipes beside each other; the last is the one handed on.

    wanted : None where only the fitted pipe was read; search : None without simulation
    """

    record: EngineRecord
    out: WorkedOut
    mounting: Mounting
    wanted: Wanted | None
    goal: Goal | None
    limits: PipeLimits | None
    candidates: tuple[Candidate, ...]
    search: Search | None
    build: Build | None
    speeds_rpm: tuple[float, ...]
    warnings: tuple[Warning, ...]
    remarks: tuple[str, ...]
    cautions: tuple[Caution, ...]

    @property
    def chosen(self) -> Candidate:
        return self.candidates[-1]

    def candidate(self, name: str) -> Candidate | None:
        """The candidate of that name, where there is one."""
        return next((one for one in self.candidates if one.name == name), None)


def read_pipe(
    record: EngineRecord, *, simulate: bool = True, settings: Settings | None = None, progress: Progress | None = None
) -> PipeReport:
    """Say what the fitted pipe is tuned for, by the published formula and by simulation around the record's speed.

    Raises GeometryError where the record has no pipe, CycleError where it lacks what a simulation needs.
    """
    out = work_out(record, draws=0)
    mounting = mounting_of(record, out.value("exhaust_duration_deg"))
    fitted = _fitted(record, mounting)
    if fitted is None:
        raise GeometryError(
            f"{record.name}: no exhaust pipe in the record\n    accepted: [[exhaust.sections]], each with length and "
            "two diameters\n    what to do: measure the pipe section by section, or ask for a new one with --rpm"
        )
    speeds = tuple(record.speed_rpm * share for share in SWEEP)
    build = None
    if simulate:
        build = build_of(out)
        (row,) = _simulated([build.engine], speeds, settings or Settings(), progress, "simulating the pipe")
        fitted = _with_results(fitted, row, mounting, build)
    return PipeReport(
        record, out, mounting, None, None, None, (fitted,), None, build, speeds, _stinger(out), _remarks(mounting),
        tuple(cautions_for("pipe")),
    )  # fmt: skip


def design_pipe(
    record: EngineRecord,
    wanted: Wanted,
    *,
    coarse: Settings = COARSE,
    fine: Settings | None = None,
    progress: Progress | None = None,
) -> PipeReport:
    """Design a pipe. Ctrl-C during the search keeps the best so far; see `plan.pipe_search.refine`.

    progress : called with what is being done, how much of it is done and how much there is at most
    Raises GeometryError where no pipe fits, CycleError where the record lacks what a simulation needs.
    """
    out = work_out(record, draws=0)
    mounting = mounting_of(record, out.value("exhaust_duration_deg"), wanted.header_mm)
    limits = _limits(wanted, mounting)
    first = first_shape(
        mounting,
        wanted.speed_rpm,
        limits,
        diffusers=wanted.diffusers,
        stinger_length_mm=wanted.stinger_length_mm,
        shorten=not wanted.first_only,
    )
    fitted = _fitted(record, mounting)
    candidates = [one for one in (fitted, _candidate("first", first, mounting)) if one is not None]
    goal = Goal(wanted.goal, wanted.speed_rpm)
    speeds = tuple(wanted.speed_rpm * share for share in SWEEP)
    search, build, remarks = None, None, (*_remarks(mounting), *_shortened(first, mounting, wanted))
    if not wanted.first_only:
        fine = fine or Settings()
        build = build_of(work_out(record_with(record, candidates[-1].sections), draws=0))

        def engine_with(shape: PipeShape) -> Engine:
            return _engine(record, shape.rounded())

        search = refine(engine_with, first, limits, goal, settings=coarse, progress=_named(progress, "searching"))
        best = [one.shape for one in search.best[:CONFIRMED] if one.shape != first]
        tried = [_candidate("refined", shape, mounting) for shape in best]
        judged = [*candidates, *tried]
        rows = _simulated(
            [_engine(record, one.sections) for one in judged], goal.speeds_rpm, fine, progress, "confirming"
        )
        judged = [replace(one, power_w=mean_power_w(row)) for one, row in zip(judged, rows, strict=True)]
        candidates, tried = judged[: len(candidates)], judged[len(candidates) :]
        winner = max(tried, key=_power, default=None)
        if winner is not None and _power(winner) > _power(candidates[-1]):
            candidates.append(winner)
        else:
            remarks += ("The search found nothing that is better than the first shape at the usual fineness.",)
        rows = _simulated([_engine(record, one.sections) for one in candidates], speeds, fine, progress, "comparing")
        candidates = [_with_results(one, row, mounting, build) for one, row in zip(candidates, rows, strict=True)]
        if search.stopped:
            remarks += ("Stopped before the search was finished: this is the best it had.",)
    new = work_out(record_with(record, candidates[-1].sections), draws=0)
    return PipeReport(
        record, out, mounting, wanted, goal, limits, tuple(candidates), search, build, speeds, _stinger(new),
        (*remarks, *_stinger_remarks(wanted, candidates[-1], limits)), tuple(cautions_for("pipe")),
    )  # fmt: skip


def read_pipe_of_file(path: Path, *, simulate: bool = True, progress: Progress | None = None) -> PipeReport:
    """As `read_pipe` for a record file; RecordError where the file is refused."""
    return read_pipe(read_record_file(path), simulate=simulate, progress=progress)


def design_pipe_of_file(path: Path, wanted: Wanted, *, progress: Progress | None = None) -> PipeReport:
    """As `design_pipe` for a record file; RecordError where the file is refused."""
    return design_pipe(read_record_file(path), wanted, progress=progress)


def _limits(wanted: Wanted, mounting: Mounting) -> PipeLimits:
    """The limits, the stinger held at the handbook's larger diameter where none were given for it."""
    usual = PipeLimits()
    diffuser = wanted.steepest_diffuser_deg or usual.diffuser_deg[1]
    baffle = wanted.steepest_baffle_deg or usual.baffle_deg[1]
    largest = float(tuned_length.stinger_guide(mounting.header_mm).largest_mm)
    widest = inf
    if wanted.widest_outside_mm:
        widest = floor(2.0 * (wanted.widest_outside_mm - 2.0 * wanted.sheet_mm)) / 2.0  # diameters are made to 0.5 mm
    least = wanted.stinger_least_mm or wanted.stinger_most_mm or largest
    most = wanted.stinger_most_mm or least
    if least > most:
        raise GeometryError(
            f"a stinger of at least {least:g} mm and at most {most:g} mm\n    accepted: the least not above the most\n"
            "    what to do: exchange the two"
        )
    return PipeLimits(
        longest_mm=wanted.longest_mm or inf,
        widest_mm=widest,
        diffuser_deg=(min(usual.diffuser_deg[0], diffuser), diffuser),
        baffle_deg=(min(usual.baffle_deg[0], baffle), baffle),
        stinger_mm=(least, most),
    )


def _fitted(record: EngineRecord, mounting: Mounting) -> Candidate | None:
    sections = sections_of(record)
    return _of_sections("fitted", sections, mounting) if sections else None


def _candidate(name: str, shape: PipeShape, mounting: Mounting) -> Candidate:
    return replace(_of_sections(name, shape.rounded(), mounting), shape=shape)


def _of_sections(name: str, sections: tuple[PipeSection, ...], mounting: Mounting) -> Candidate:
    length = tuned_length_of(mounting.passage_mm, sections)
    return Candidate(name, sections, length, _by_formula(length, mounting, WAVE_SPEED_M_S))


def _by_formula(length_mm: float | None, mounting: Mounting, wave_m_s: float) -> float | None:
    if length_mm is None:
        return None
    return float(tuned_length.tuned_speed_rpm(length_mm, mounting.duration_deg, wave_m_s))


def _engine(record: EngineRecord, sections: Sequence[PipeSection]) -> Engine:
    return build_of(work_out(record_with(record, sections), draws=0)).engine


def _named(progress: Progress | None, words: str) -> Callable[[int, int], bool | None] | None:
    return partial(progress, words) if progress is not None else None


def _simulated(
    engines: Sequence[Engine], speeds: Sequence[float], settings: Settings, progress: Progress | None, words: str
) -> list[list[CycleResult | CycleError]]:
    return batch(engines, speeds, settings, progress=_named(progress, words))


def _with_results(
    one: Candidate, row: Sequence[CycleResult | CycleError], mounting: Mounting, build: Build
) -> Candidate:
    """A candidate with its curve, and the speed of sound of the gas that the simulation has in the pipe."""
    tuned = tuned_for(row)
    wave = None
    if tuned is not None:
        gas = gas_properties.gas_law(gas_properties.stoichiometric_afr() / build.engine.afr)
        wave = resonance.sound_speed_m_s(gas, tuned.pipe_k, 0.0)
    return replace(one, results=tuple(row), tuned=tuned, wave_m_s=wave)


def formula_with_wave_rpm(one: Candidate, mounting: Mounting) -> float | None:
    """The published formula once more, with the speed of sound that the simulation has in the pipe."""
    return None if one.wave_m_s is None else _by_formula(one.tuned_length_mm, mounting, one.wave_m_s)


def _power(one: Candidate) -> float:
    return one.power_w if one.power_w is not None else -inf


def _stinger(out: WorkedOut) -> tuple[Warning, ...]:
    return tuple(one for one in warnings(out) if one.about == "stinger_share_of_header")


def _remarks(mounting: Mounting) -> tuple[str, ...]:
    if mounting.passage_known:
        return ()
    return (
        "No passage length of the exhaust port is in the record: it counts as 0, and every tuned length as that much "
        "too short. Measure it: piston's face to the cylinder's outer face.",
    )


def _shortened(first: PipeShape, mounting: Mounting, wanted: Wanted) -> tuple[str, ...]:
    rpm = _by_formula(first.tuned_length_mm, mounting, WAVE_SPEED_M_S)
    if rpm is None or rpm < 1.001 * wanted.speed_rpm:
        return ()
    return (
        f"The pipe that the rules give for {wanted.speed_rpm:g} rpm is too long for the room. The search began from a "
        f"shorter one, by the formula for {rpm:.0f} rpm.",
    )


def _stinger_remarks(wanted: Wanted, chosen: Candidate, limits: PipeLimits) -> tuple[str, ...]:
    least, most = limits.stinger_mm
    heat = "The simulation does not know how hot the piston gets"
    if least < most and chosen.shape is not None and chosen.shape.stinger_mm < least + 0.25:
        return (
            f"The search went to the smallest stinger you allowed. {heat}: begin with a larger one, and look at plug "
            "and crown.",
        )
    if wanted.stinger_least_mm is None and wanted.stinger_most_mm is None:
        return (
            f"The stinger has the handbook's larger diameter, {tuned_length.STINGER_DIAMETER_RATIO.high:g} of the "
            f"header, and is not searched for: start large. {heat}.",
        )
    return ()
