"""A first pipe made better by simulation: a few choices changed by turns, each kept where the goal gains by it.

The method is a pattern search: around the best shape so far every choice is tried a step up and a step down, all in
one batch; then the gains together; the best is gone on from, and where nothing gains the steps are halved. It needs no
slopes, which a simulation that stops at a tolerance does not have; it always gives the same answer; and whenever it is
stopped it holds the best so far. A search of this kind finds a good shape near the first one, not the best there is.

What counts is the brake power averaged over the speeds of the goal; a speed that comes to no sound end counts as
nothing. Nothing here knows how hot the piston gets: the stinger moves only within limits that the builder gave.
Source of the method: kolda-2003.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np

from scribeline.cycle.batches import batch
from scribeline.cycle.engine import Engine
from scribeline.cycle.simulate import CycleResult, Settings
from scribeline.errors import CycleError
from scribeline.geometry.broadcast import FloatArray
from scribeline.geometry.pipe_design import PipeLimits, PipeShape, least_header_mm, refused, with_room

Progress = Callable[[int, int], bool | None]

COARSE = Settings(cell_m=0.020, patient=False)
"""The setting for searches; docs/performance-cycle.md says how far it ranks as the default does."""
SHARES: dict[str, tuple[float, ...]] = {
    "band": (0.92, 0.96, 1.0, 1.04, 1.08),
    "wide": (0.70, 0.80, 0.90, 1.0, 1.08, 1.16),
}
"""Speeds of each goal over the speed asked for. Judgement, no source."""

# First steps: share of the value (of lengths and diameters) or degrees. Judgement; a shop works to a fifth of them.
STEPS = {
    "tuned_length_mm": 0.05,
    "header_length_mm": 0.15,
    "belly_mm": 0.08,
    "diffuser_taper_deg": 1.0,
    "baffle_taper_deg": 4.0,
    "stinger_mm": 0.04,
}
SCAN = tuple(range(-5, 4))
"""The tuned length is tried first alone, from 25 % shorter to 15 % longer in its own steps: it is by far the strongest
choice, and where a band ends in a cliff a small step may see nothing of it."""
HALVINGS = 2
MOST_ROUNDS = 15
LEAST_GAIN = 0.001  # of the goal: below it the simulation's own tolerance decides


@dataclass(frozen=True)
class Goal:
    """The speeds that count, rev/min, ascending; kind says how they lie around `speed_rpm`."""

    kind: Literal["band", "wide"]
    speed_rpm: float

    @property
    def speeds_rpm(self) -> tuple[float, ...]:
        return tuple(self.speed_rpm * share for share in SHARES[self.kind])

    @property
    def words(self) -> str:
        """The goal in one phrase."""
        first, *_, last = self.speeds_rpm
        return f"mean power from {first:.0f} to {last:.0f} rpm"


@dataclass(frozen=True)
class Tried:
    """A shape and what it gives: mean power over the goal's speeds, W; failed : speeds without a sound end."""

    shape: PipeShape
    power_w: float
    failed: int = 0


@dataclass
class Search:
    """What a search found. It fills while the search runs, so a stopped one holds what it has."""

    goal: Goal
    tried: list[Tried] = field(default_factory=list)
    rounds: int = 0
    stopped: bool = False

    @property
    def best(self) -> list[Tried]:
        """Every shape tried, best first; of equals the earlier."""
        return sorted(self.tried, key=lambda one: -one.power_w)


def refine(
    engine_with: Callable[[PipeShape], Engine],
    start: PipeShape,
    limits: PipeLimits,
    goal: Goal,
    *,
    settings: Settings = COARSE,
    most_rounds: int = MOST_ROUNDS,
    threads: int = 2,
    progress: Progress | None = None,
) -> Search:
    """Search around a first shape.

    engine_with : the engine with a pipe of this shape; start : must lie within the limits
    progress : called with simulated engines and the most there can be; returning True stops. So does Ctrl-C
    (KeyboardInterrupt), which is not passed on: the search then holds the best so far and says `stopped`.
    Raises CycleError where the first shape itself comes to a sound end at no speed.
    """
    search = Search(goal)
    names = [name for name in STEPS if name != "stinger_mm" or limits.stinger_mm[0] < limits.stinger_mm[1]]
    most = len(SCAN) + most_rounds * (2 * len(names) + 1)
    seen: dict[PipeShape, Tried] = {}

    def tick(done: int, _: int) -> bool:
        return bool(progress and progress(len(search.tried) + done, most))

    def judge(shapes: Sequence[PipeShape]) -> list[Tried]:
        """Simulate the shapes that are new and can be made; those that were seen before are remembered."""
        sound = [shape for shape in dict.fromkeys(shapes) if not refused(shape, limits)]
        new = [shape for shape in sound if shape not in seen]
        rows = batch([engine_with(s) for s in new], goal.speeds_rpm, settings, threads, tick) if new else []
        for shape, row in zip(new, rows, strict=True):
            seen[shape] = Tried(shape, mean_power_w(row), sum(not isinstance(one, CycleResult) for one in row))
            search.tried.append(seen[shape])
        return [seen[shape] for shape in sound]

    try:
        (best,) = judge([start])
        if best.failed == len(goal.speeds_rpm):
            raise CycleError(
                f"the first shape comes to a sound end at none of {len(goal.speeds_rpm)} speeds around "
                f"{goal.speed_rpm:g} rpm\n    accepted: an engine that runs there\n    what to do: try `scribeline "
                "curve` on the record, and aim at a speed where it gives power"
            )
        best = max([best, *judge([stepped(start, "tuned_length_mm", steps, limits) for steps in SCAN])], key=_power)
        scale = 1.0
        while search.rounds < most_rounds and scale > 0.5**HALVINGS - 1e-9:
            search.rounds += 1
            around = [(name, way) for name in names for way in (1.0, -1.0)]
            moves = {stepped(best.shape, name, way * scale, limits): (name, way) for name, way in around}
            gains = [one for one in judge(list(moves)) if one.power_w > best.power_w * (1.0 + LEAST_GAIN)]
            if not gains:
                scale *= 0.5
                continue
            together = best.shape
            best_way = {}
            for one in sorted(gains, key=_power):
                name, way = moves[one.shape]
                best_way[name] = way  # of the two ways of one choice the better stays
            for name, way in best_way.items():
                together = stepped(together, name, way * scale, limits)
            best = max([*gains, *judge([together])], key=_power)
    except KeyboardInterrupt:
        search.stopped = True
    except CycleError:
        if not search.tried or best.failed == len(goal.speeds_rpm):
            raise
        search.stopped = True
    return search


def _power(one: Tried) -> float:
    return one.power_w


def stepped(shape: PipeShape, name: str, steps: float, limits: PipeLimits) -> PipeShape:
    """A shape with one choice changed by so many first steps, held within the limits it has."""
    value = getattr(shape, name)
    if name.endswith("_deg"):
        value += steps * STEPS[name]
    else:
        value *= 1.0 + steps * STEPS[name]
    if name == "tuned_length_mm":  # the header keeps its share
        header = value / shape.tuned_length_mm * (shape.passage_mm + shape.header_length_mm) - shape.passage_mm
        shape = replace(shape, header_length_mm=max(header, least_header_mm(shape)))
    if name == "stinger_mm":
        value = float(np.clip(value, *limits.stinger_mm))
    if name == "belly_mm":
        value = min(value, limits.widest_mm)
    if name == "baffle_taper_deg":
        value = float(np.clip(value, *limits.baffle_deg))
    return with_room(replace(shape, **{name: value}))


def mean_power_w(row: Sequence[CycleResult | CycleError]) -> float:
    """Brake power averaged over the speeds, W; a speed without a sound end counts as nothing."""
    return float(np.mean([one.power_w if isinstance(one, CycleResult) else 0.0 for one in row]))


@dataclass(frozen=True)
class TunedFor:
    """What a simulated curve says a pipe is tuned for.

    centre_rpm : centre of the band above 90 % of the best power; low_rpm, high_rpm : its ends, between the simulated
    speeds by straight lines; open_ended : the band goes on beyond the simulated speeds
    trapping_rpm : speed of best trapping within that band; best_rpm, best_w : of most power
    pipe_k : mean temperature of the gas in the pipe over that band, by mass
    """

    centre_rpm: float
    low_rpm: float
    high_rpm: float
    open_ended: bool
    trapping_rpm: float
    best_rpm: float
    best_w: float
    pipe_k: float


BAND = 0.9


def tuned_for(row: Sequence[CycleResult | CycleError]) -> TunedFor | None:
    """Read a curve, speeds ascending; None where fewer than three speeds came to a sound end.

    The peak alone is no sound measure: the curve of a tuned pipe ends in a cliff and the peak sits on its edge.
    """
    sound = [one for one in row if isinstance(one, CycleResult)]
    if len(sound) < 3:
        return None
    rpm = np.array([one.speed_rpm for one in sound])
    power = np.array([one.power_w for one in sound])
    top = int(power.argmax())
    floor = BAND * power[top]
    low, low_open = _edge(rpm[top::-1], power[top::-1], floor)
    high, high_open = _edge(rpm[top:], power[top:], floor)
    within = [one for one in sound if low <= one.speed_rpm <= high]
    trapping = max(within, key=lambda one: one.trapping_efficiency)
    return TunedFor(
        centre_rpm=0.5 * (low + high),
        low_rpm=low,
        high_rpm=high,
        open_ended=low_open or high_open,
        trapping_rpm=trapping.speed_rpm,
        best_rpm=float(rpm[top]),
        best_w=float(power[top]),
        pipe_k=float(np.mean([one.pipe_k for one in within])),
    )


def _edge(rpm: FloatArray, power: FloatArray, floor: float) -> tuple[float, bool]:
    """Where power, followed outwards from its peak, first falls below the floor; True where it never does."""
    below = np.flatnonzero(power < floor)
    if not below.size:
        return float(rpm[-1]), True
    i = int(below[0])
    share = (power[i - 1] - floor) / (power[i - 1] - power[i])
    return float(rpm[i - 1] + share * (rpm[i] - rpm[i - 1])), False
