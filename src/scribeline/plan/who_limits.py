"""Ports or pipe? The whole gain of a list of changes, shared out among its groups on the simulator.

Every subset of the groups is an engine of its own: 16 for four groups. All are simulated over the same speeds, and the
gain in each number is shared out exactly (`shares`). For the +/- the same is done again with engines drawn within the
+/- of the readings: before and after share their errors, so that what remains is how sure the *shares* are.
"""

from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass

import numpy as np

from scribeline.cycle.simulate import Settings
from scribeline.engine import EngineRecord
from scribeline.errors import GeometryError, PlanError, RecordError, SearchError
from scribeline.geometry.work_out import work_out
from scribeline.plan.merits import BY_KEY, SEARCH, Merit, Speeds, Swept, merits_of, road_of, sweep_many
from scribeline.plan.shares import MOST_GROUPS, Shares, members, shares_of
from scribeline.plan.within import drawn_within

Change = Callable[[EngineRecord], EngineRecord]
SHARED = ("peak_kw", "middle_rpm", "peak_rpm", "band_kw")
DRAWS = 4
NOTABLE = 0.2
"""Share of the largest share from which on a pair is worth a sentence. Judgement."""


@dataclass(frozen=True)
class WhoLimits:
    """Who limits what. groups : name -> what was done, in words; curves : each subset's curve, by its row number.

    drawn : engines within the +/- of the readings that the +/- is from; stopped : before as many as were asked for
    """

    groups: Mapping[str, str]
    shares: tuple[Shares, ...]
    curves: tuple[Swept, ...]
    speeds: Speeds
    drawn: int
    stopped: bool = False

    def of(self, key: str) -> Shares:
        """The shares of one of the merits, by its key."""
        label = BY_KEY[key].label
        return next(one for one in self.shares if one.quantity == label)


def who_limits(
    record: EngineRecord,
    groups: Mapping[str, Change],
    said: Mapping[str, str],
    speeds: Speeds,
    *,
    draws: int = DRAWS,
    seed: int = 1,
    settings: Settings = SEARCH,
    threads: int = 2,
    progress: Callable[[int, int], bool | None] | None = None,
) -> WhoLimits:
    """Share out what all groups together change in the numbers of SHARED.

    groups : name -> the change, a pure function of the record, done in the order given; said : the same in words
    draws : engines drawn within the +/- of the readings; 0 for shares without +/-
    progress : called with engines done and in all; returning True stops. Stopped once all subsets of the engine itself
    are done, the shares are given, their +/- from as many engines as were
    Raises SearchError for no group or more than MOST_GROUPS, where a subset cannot be done to this engine, and where
    one of the engines gives no curve; and when stopped before.
    """
    if not 1 <= len(groups) <= MOST_GROUPS:
        raise SearchError(f"{len(groups)} groups\n    accepted: 1 to {MOST_GROUPS}\n    what to do: put some together")
    names = tuple(groups)
    subsets = [members(names, mask) for mask in range(2 ** len(names))]
    builds = _all_subsets(record, groups, subsets)
    for number in range(4 * draws):
        if len(builds) == (1 + draws) * len(subsets):
            break
        with suppress(PlanError, RecordError, GeometryError):  # a change at its very end may not fit every draw
            builds += _all_subsets(drawn_within(record, number, seed), groups, subsets)
    curves, stopped = _simulated(builds, len(subsets), speeds, settings, threads, progress)
    merits = [BY_KEY[key] for key in SHARED]
    values = np.array([_values(curve, merits, speeds, engine) for curve, engine in zip(curves, builds, strict=False)])
    values = values.reshape(-1, len(subsets), len(merits))
    if not np.isfinite(values[0]).all():
        bad = int(np.argmax(~np.isfinite(values[0]).all(axis=1)))
        why = "; ".join(curves[bad].why_not[:1])
        raise SearchError(
            f"no curve with {' and '.join(subsets[bad]) or 'nothing'} changed: {why}\n"
            "    accepted: changes that leave an engine that runs\n    what to do: change less, or other speeds"
        )
    sound = [drawn for drawn in values[1:] if np.isfinite(drawn).all()]
    shares = tuple(
        shares_of(merit.label, merit.unit, names, values[0, :, k], [drawn[:, k] for drawn in sound])
        for k, merit in enumerate(merits)
    )
    return WhoLimits(
        {name: said[name] for name in names}, shares, tuple(curves[: len(subsets)]), speeds, len(sound), stopped
    )


def _simulated(
    builds: Sequence[EngineRecord], subsets: int, speeds: Speeds, settings: Settings, threads: int,
    progress: Callable[[int, int], bool | None] | None,
) -> tuple[list[Swept], bool]:  # fmt: skip
    """The curves of all engines, or where it was stopped of those whose subsets are all done; SearchError for none."""
    curves: list[Swept] = []
    stopped = False

    def told(done: int, count: int) -> bool:
        nonlocal stopped
        stopped = bool(progress and progress(done, count)) and done < count
        return stopped

    try:
        for one in sweep_many(builds, speeds.points, settings, threads=threads, progress=told):
            curves.append(one)
    except SearchError:
        if not stopped or len(curves) < subsets:
            raise
    return curves[: len(curves) // subsets * subsets], stopped


def _all_subsets(
    record: EngineRecord, groups: Mapping[str, Change], subsets: Sequence[Sequence[str]]
) -> list[EngineRecord]:
    return [changed(record, [groups[name] for name in subset]) for subset in subsets]


def changed(record: EngineRecord, changes: Sequence[Change]) -> EngineRecord:
    """The record with all changes made, in order."""
    for change in changes:
        record = change(record)
    return record


def replaced(*fields: str, other: EngineRecord) -> Change:
    """A change that takes parts of the record, such as "exhaust" or "ignition", from another record."""
    return lambda record: record.model_copy(update={field: getattr(other, field) for field in fields})


def answer(one: Shares) -> str:
    """Who limits this number, in one plain sentence."""
    first, *rest = one.order
    digits = next((m.digits for m in BY_KEY.values() if m.label == one.quantity), 2)

    def number(value: float, width: float) -> str:
        plus = f" ± {width:.{digits}f}" if np.isfinite(width) else ""
        return f"{round(float(value), digits) + 0.0:+.{digits}f}{plus} {one.unit}"

    names = one.groups
    lead = f"{one.quantity}: {names[first]} {number(one.shares[first], one.plus_minus[first])}"
    lead += "".join(f", {names[i]} {number(one.shares[i], one.plus_minus[i])}" for i in rest)
    lead += f"; together {number(one.gain, one.gain_plus_minus)}."
    if rest and one.shares[first] != 0.0 and not np.isnan(one.plus_minus[first]) and not one.sure(first, rest[0]):
        lead += f" Which of {names[first]} and {names[rest[0]]} does more is not certain within the +/-."
    i, j, together = one.strongest_pair()
    if i != j and abs(together) > NOTABLE * np.abs(one.shares).max():
        way = "more" if together > 0.0 else "less"
        lead += (
            f" {names[i].capitalize()} and {names[j]} together give {abs(together):.{digits}f} {one.unit} {way} than "
            "the sum of each alone."
        )
    return lead


def _values(curve: Swept, merits: Sequence[Merit], speeds: Speeds, record: EngineRecord) -> list[float]:
    road = road_of(work_out(record, draws=0)) if any(merit.key == "top_km_h" for merit in merits) else None
    found = merits_of(curve, speeds, road)
    return [found[merit.key] for merit in merits]
