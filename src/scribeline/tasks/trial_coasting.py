"""Roll-outs among a trial's own recordings: fitted, and what they gave taken over into the trial's vehicle.

settings    coasted: rolling_resistance and drag_area_m2 as [value, +/-], rests_on in words
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from scribeline.errors import TrialError
from scribeline.notebook import EntryToKeep, add_entries
from scribeline.tasks.coasting import Coasted, coast_traces, spread_words
from scribeline.tasks.notebook import Where, opened, user_name
from scribeline.tasks.trial_adding import read_again
from scribeline.tasks.trial_files import BY_ENGINE, speed_trace
from scribeline.tasks.trial_vehicle import HeldBack, Vehicle
from scribeline.tasks.trials import Shown, shown


@dataclass(frozen=True)
class FromRollOuts:
    """What roll-outs gave, None where it is none that a vehicle has; what it rests on, and what should be known."""

    held_back: HeldBack | None
    grounds: tuple[str, ...]
    remarks: tuple[str, ...]


def may_be_roll_outs(now: Shown) -> dict[int, str]:
    """The recordings that could be roll-outs, by the number of their entry.

    With the clutch pulled the engine says nothing of the road, so a speed that rests on it is none.
    """
    files = [one for one in now.state.files if not str(one.data.get("speed_from", BY_ENGINE)).startswith(BY_ENGINE)]
    return {one.number: f"{one.number} {one.file_name}" for one in files}


def coast_of_trial(
    name: str, out: Sequence[int], back: Sequence[int], where: Where = None, *,
    tell: Callable[[Any], object] | None = None, stopped: Callable[[], bool] | None = None,
) -> FromRollOuts:  # fmt: skip
    """Fit rolling and drag to recordings of a trial, with its vehicle's mass and what turns, in the air of its day.

    out, back : numbers of their entries; tell, stopped : of a worker process, for which there is nothing to do here
    Raises TrialError for a recording chosen both ways or not there, for a vehicle without a mass, and as `coast_files`.
    """
    with opened(where) as notebook:
        now = shown(notebook, name)
        files = {one.number: one for one in now.state.files if one.number in may_be_roll_outs(now)}
        chosen = [*out, *back]
        if not chosen or len(set(chosen)) < len(chosen) or not set(chosen) <= set(files):
            raise TrialError(
                f"recordings chosen as roll-outs: {', '.join(map(str, chosen)) or 'none'}\n    accepted: each of "
                f"{', '.join(map(str, files)) or 'none that is here'} once: one way, or the other\n"
                "    what to do: record each way in a file of its own, and bring both in"
            )
        if now.vehicle is None or now.vehicle.mass_kg is None:
            raise TrialError(
                "roll-outs without the vehicle's mass\n    accepted: mass_with_rider_kg in the record that was driven\n"
                "    what to do: weigh it with rider and fuel, docs/howto/measure-drive-and-vehicle.md"
            )
        driven = []
        for number in chosen:
            entry = files[number]
            assert entry.sha256 is not None
            recording = read_again(entry, notebook.content(entry.sha256), now.record)
            driven.append((str(entry.file_name), 1 if number in out else -1, speed_trace(recording, None)[0]))
    return _made(coast_traces(driven, now.vehicle.mass_kg, now.vehicle.rotating, now.state.air), now.vehicle)


def _made(coasted: Coasted, vehicle: Vehicle) -> FromRollOuts:
    """With the +/- of mass and of what turns joined to that of the fit: F0 and F2 go with both, F0/(m g) with one."""
    assert vehicle.mass_kg is not None
    found = coasted.found
    names = list(dict.fromkeys(name for name, _, _ in coasted.stretches))
    grounds = []
    for name in names:
        rolled = [f"{start:.1f} to {end:.1f}" for one, start, end in coasted.stretches if one == name]
        grounds.append(f"{name}: {_roll_outs(len(rolled))}, at {', '.join(rolled)} s")
    grounds += [
        f"speeds scatter by {found.sd_m_s:.2f} m/s about the fit",
        spread_words(found).removesuffix(". That of the mass is not in it"),
        f"{found.mass_kg:g} ± {vehicle.mass_pm_kg:.3g} kg with rider, and {100.0 * vehicle.rotating:.3g} ± "
        f"{100.0 * vehicle.rotating_pm:.3g} % of it more for what turns",
        f"air of {coasted.density_kg_m3:.3f} kg/m³{'' if coasted.of_the_day else ', standard: the air is not said'}",
    ]
    if np.isfinite(found.wind_m_s):
        grounds.append(f"head wind one way {3.6 * found.wind_m_s:.1f} km/h, slope {100.0 * found.grade:.2f} %")
    if found.f0_n <= 0.0 or found.f2_n_s2_m2 <= 0.0:
        return FromRollOuts(None, tuple(grounds), found.remarks)
    turns, mass = vehicle.rotating_pm / (1.0 + vehicle.rotating), vehicle.mass_pm_kg / vehicle.mass_kg
    rolling, drag = found.rolling_resistance(), found.drag_area_m2(coasted.density_kg_m3)
    rolling_pm = rolling * float(np.hypot(found.f0_wider_pm_n / found.f0_n, turns))
    drag_pm = drag * float(np.linalg.norm([found.f2_wider_pm_n_s2_m2 / found.f2_n_s2_m2, turns, mass]))
    rests_on = f"{_roll_outs(len(coasted.stretches))} in {', '.join(names)}"
    return FromRollOuts(HeldBack((rolling, rolling_pm), (drag, drag_pm), rests_on), tuple(grounds), found.remarks)


def _roll_outs(count: int) -> str:
    return f"{count} roll-out{'' if count == 1 else 's'}"


def take_over(name: str, held: HeldBack, *, author: str | None = None, where: Where = None) -> None:
    """Have the trial's vehicle held back as its roll-outs say. The record stays as it is."""
    kept = {
        "rolling_resistance": [round(one, 6) for one in held.rolling_resistance],
        "drag_area_m2": [round(one, 5) for one in held.drag_area_m2],
        "rests_on": held.rests_on,
    }
    with opened(where) as notebook:
        add_entries(notebook, name, [EntryToKeep("settings", {"coasted": kept})], author=author or user_name())


def held_back_words(held: HeldBack) -> str:
    """In a sentence what holds the vehicle back."""
    (rolling, rolling_pm), (drag, drag_pm) = held.rolling_resistance, held.drag_area_m2
    return (
        f"Rolling resistance {rolling:.4f} ± {rolling_pm:.4f} of the weight, drag area {drag:.3f} ± {drag_pm:.3f} m², "
        f"from {held.rests_on}."
    )
