"""Rolling and drag from recordings of roll-outs: which stretches are taken, and what they give for a record."""

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from scribeline.data.cautions import Caution, cautions_for
from scribeline.errors import TrialError
from scribeline.models.moist_air import Air
from scribeline.recordings import GateTable, ReadOptions, read
from scribeline.tasks.trial_files import Trace, speed_trace
from scribeline.tasks.trial_turning import turning_of
from scribeline.tasks.trial_typed import air_of, weather_of
from scribeline.tasks.trial_vehicle import ROTATING, STANDARD_DENSITY_KG_M3
from scribeline.trials.coast_down import CoastDown, Coasting, coast_down
from scribeline.trials.smoothing import smooth

Floats = NDArray[np.float64]

# What counts as rolling out (judgement): slowing all the time, but not as brakes do, for long enough.
SLOWING_M_S2 = (0.02, 0.9)
LEAST_TIME_S = 5.0
LEAST_DROP_M_S = 3.0
REACH_S = 1.5
"""How far the smoothing reaches that sees the slowing. It sees it begin that much too early, and end too late, so as
much is cut off at both ends: the riding before and the braking after are no rolling out."""


@dataclass(frozen=True)
class Coasted:
    """What roll-outs gave, the stretches they came from [(file, from s, to s)], and the air's density.

    of_the_day : whether that is the day's own air
    """

    found: CoastDown
    stretches: tuple[tuple[str, float, float], ...]
    density_kg_m3: float
    cautions: tuple[Caution, ...]
    of_the_day: bool = False


def coast_files(
    out: Sequence[Path], back: Sequence[Path], mass_kg: float, weather: str | None = None, turning: str | None = None
) -> Coasted:
    """Fit rolling and drag to every roll-out in recordings that were driven out, and back along the same road.

    mass_kg : with rider, 20 to 2000; weather : as `air_of` reads it, for the drag area; standard air where None
    turning : what turns while the clutch is pulled, as a share of the mass ("share 4 %"); 3 % where None
    Raises TrialError where no recording holds a roll-out, and as `coast_down` does.
    """
    if not 20.0 <= mass_kg <= 2000.0:
        raise TrialError(f"a mass of {mass_kg:g} kg\n    accepted: 20 to 2000, with rider\n    what to do: weigh it")
    told = turning_of(turning) if turning else {"share": (ROTATING, 0.0)}
    if set(told) != {"share"}:
        raise TrialError(
            f"what turns typed as {turning!r}\n    accepted: a share of the mass, as no tyre is known here\n"
            "    what to do: write share 4 %: wheels count as their inertia over mass times the tyre's radius squared"
        )
    driven: list[tuple[str, int, Trace]] = []
    for way, paths in ((1, out), (-1, back)):
        for path in paths:
            recording = read(path, ReadOptions())
            if isinstance(recording, GateTable):
                raise TrialError(
                    f"{path.name} is a table of gate times\n    accepted: recordings of the speed\n"
                    "    what to do: record the roll-out with a logger or a phone"
                )
            driven.append((path.name, way, speed_trace(recording, None)[0]))
    return coast_traces(driven, mass_kg, float(told["share"][0]), weather_of(air_of(weather)) if weather else None)


def coast_traces(driven: Sequence[tuple[str, int, Trace]], mass_kg: float, rotating: float, air: Air | None) -> Coasted:
    """The same from speeds that have been read: file, +1 out or -1 back, speed.

    rotating : as a share of the mass; air : of the day, standard air where None
    """
    runs: list[Coasting] = []
    stretches: list[tuple[str, float, float]] = []
    for name, way, trace in driven:
        for first, last in roll_outs(trace.time_s, trace.speed_m_s):
            runs.append(Coasting(trace.time_s[first:last], trace.speed_m_s[first:last], way))
            stretches.append((name, float(trace.time_s[first]), float(trace.time_s[last - 1])))
    if not runs:
        raise TrialError(
            f"no roll-out in {len(driven)} recordings\n    accepted: speed that falls by itself for "
            f"{LEAST_TIME_S:g} s and by {3.6 * LEAST_DROP_M_S:.0f} km/h at least\n    what to do: pull the clutch at "
            "speed on a closed, level road and let it roll, brakes off"
        )
    found = coast_down(runs, mass_kg, rotating, air.t_c if air else None)
    density = air.density_kg_m3 if air else STANDARD_DENSITY_KG_M3
    return Coasted(found, tuple(stretches), density, tuple(cautions_for("run-test")), air is not None)


def roll_outs(time_s: Floats, speed_m_s: Floats) -> list[tuple[int, int]]:
    """First and last+1 place of every stretch that slows all the time, gently, for long enough.

    >>> t = np.arange(0.0, 20.0, 0.2)
    >>> first, last = roll_outs(t, np.where(t < 5.0, 20.0, 20.0 - 0.3 * (t - 5.0)))[0]
    >>> bool(5.0 <= t[first] < 7.0)
    True
    """
    slope = smooth(time_s, speed_m_s, REACH_S).slope
    rolling = (slope < -SLOWING_M_S2[0]) & (slope > -SLOWING_M_S2[1]) & (speed_m_s > 1.0)
    edges = np.flatnonzero(np.diff(np.concatenate([[0], rolling.astype(np.int8), [0]])))
    found = []
    for first, last in zip(edges[::2], edges[1::2], strict=True):
        # Steady riding that scatters looks like slowing a little: it begins where it slows half as much as usual.
        begins = first + int(np.argmax(slope[first:last] <= 0.5 * np.median(slope[first:last])))
        a = int(np.searchsorted(time_s, time_s[begins] + REACH_S))
        b = int(np.searchsorted(time_s, time_s[last - 1] - REACH_S, side="right"))
        if b > a and time_s[b - 1] - time_s[a] >= LEAST_TIME_S and speed_m_s[a] - speed_m_s[b - 1] >= LEAST_DROP_M_S:
            found.append((a, b))
    return found


def spread_words(found: CoastDown) -> str:
    """Where the +/- of both comes from: from the readings about the fit, and from the runs among themselves."""
    fitted = f"readings about the fit ±{found.f0_pm_n:.2g} N and ±{found.f2_pm_n_s2_m2:.2g} N s²/m²"
    if np.isnan(found.f0_across_pm_n):
        return f"+/- (95 %): {fitted} alone; too few runs to see how far runs differ, which is often more"
    across = f"±{found.f0_across_pm_n:.2g} N and ±{found.f2_across_pm_n_s2_m2:.2g} N s²/m²"
    return f"+/- (95 %): {fitted}; runs among themselves {across}; the wider counts. That of the mass is not in it"


def coast_text(coasted: Coasted, width: int = 100) -> str:
    """What was found, and how to write it into a record."""
    found = coasted.found
    rolling, drag = found.rolling_resistance(), found.drag_area_m2(coasted.density_kg_m3)
    rolling_pm = rolling * found.f0_wider_pm_n / found.f0_n
    drag_pm = drag * found.f2_wider_pm_n_s2_m2 / found.f2_n_s2_m2
    lines = [f"{len(coasted.stretches)} roll-outs, speeds scatter by {found.sd_m_s:.2f} m/s about the fit"]
    lines += [f"  {name}: {start:.1f} to {end:.1f} s" for name, start, end in coasted.stretches]
    lines += [
        "",
        f"rolling  F0 = {found.f0_n:.1f} ±{found.f0_wider_pm_n:.1f} N, {rolling:.4f} of the weight",
        f"drag     F2 = {found.f2_n_s2_m2:.3f} ±{found.f2_wider_pm_n_s2_m2:.3f} N s²/m², drag area {drag:.2f} m² in "
        f"air of {coasted.density_kg_m3:.3f} kg/m³",
        *textwrap.wrap(spread_words(found), width),
    ]
    if np.isfinite(found.wind_m_s):
        lines.append(f"head wind on the way out {3.6 * found.wind_m_s:.1f} km/h, slope {100 * found.grade:.2f} %")
    for remark in found.remarks:
        lines += textwrap.wrap(remark, width, initial_indent="! ", subsequent_indent="  ")
    if found.f0_n > 0.0 and found.f2_n_s2_m2 > 0.0:
        lines += [
            "",
            "For the record, under [vehicle]:",
            f"rolling_resistance = {{ value = {rolling:.4f}, plus_minus = {rolling_pm:.4f} }}",
            f"drag_area_m2 = {{ value = {drag:.3f}, plus_minus = {drag_pm:.3f} }}",
        ]
    lines += ["", "CAUTIONS"]
    for caution in coasted.cautions:
        lines += textwrap.wrap(caution.text, width, initial_indent="  * ", subsequent_indent="    ")
    return "\n".join(lines)
