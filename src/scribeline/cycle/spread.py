"""What the +/- of a record's readings does to its simulated curve: the same curve for many engines within the +/-.

The engines are a Latin hypercube: each reading's range is cut into as many equally likely slices as there are engines,
and every slice is used once. A reading's places depend on its name and the seed only, so that two engines with the same
reading move the same way.
"""

import zlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from scribeline.cycle.batches import batch
from scribeline.cycle.engine import Conditions
from scribeline.cycle.from_record import Build, build_of
from scribeline.cycle.simulate import CycleResult, Settings
from scribeline.engine import COVERAGE_FACTOR, EngineRecord, readings
from scribeline.engine.moving import with_readings
from scribeline.errors import CycleError, ScribelineError
from scribeline.geometry.work_out import work_out

SEED = 20260101
ENGINES = 24  # a standard deviation from 24 is itself good to about 15 %


@dataclass(frozen=True)
class Spread:
    """Results of the engines within the +/-, for each speed those that came to a sound end.

    results : one tuple for each speed; octane : of each engine's fuel is not varied
    engines : how many were tried; moved : how many readings had a +/-; refused : engines that do not exist (readings
    that contradict each other once moved)
    """

    speeds_rpm: tuple[float, ...]
    results: tuple[tuple[CycleResult, ...], ...]
    engines: int
    moved: int
    refused: int


def hypercube(record: EngineRecord, engines: int, seed: int = SEED) -> list[dict[str, float]]:
    """Values of every reading that has a +/- for so many engines: {place: value in the field's unit} each.

    A +/- is COVERAGE_FACTOR standard deviations of a normal distribution, as on the card.
    """
    drawn: list[dict[str, float]] = [{} for _ in range(engines)]
    for one in readings(record):
        width = one.plus_minus
        if width == 0.0:
            continue
        generator = np.random.Generator(np.random.SFC64([seed, zlib.crc32(one.place.encode())]))
        slices = (generator.permutation(engines) + generator.random(engines)) / engines
        for values, share in zip(drawn, slices, strict=True):
            at = NormalDist().inv_cdf(min(max(float(share), 1e-9), 1.0 - 1e-9))
            values[one.place] = one.measured.value + width / COVERAGE_FACTOR * at
    return drawn


def spread(
    record: EngineRecord,
    speeds_rpm: Sequence[float],
    settings: Settings,
    *,
    engines: int = ENGINES,
    build: Callable[[EngineRecord], Build] | None = None,
    progress: Callable[[int, int], bool | None] | None = None,
    threads: int = 2,
) -> Spread:
    """Simulate engines within the +/- of the record at each speed.

    engines : 4 to 1000; build : how a record becomes an engine, `build_of` with the air of the settings where left
    out; progress : called with speeds done and speeds in all, returning True stops. Raises CycleError when stopped,
    and where no engine within the +/- can be simulated at all.
    """
    if not 4 <= engines <= 1000:
        raise CycleError(f"{engines} engines within the +/-\n    accepted: 4 to 1000\n    what to do: ask for others")
    make = build or (lambda one: of_record(one, settings.air))
    drawn = hypercube(record, engines)
    builds = []
    for values in drawn:
        try:
            builds.append(make(with_readings(record, values)))
        except ScribelineError:
            continue  # readings that contradict each other once moved: counted below
    if len(builds) < 2:
        raise CycleError(
            "no engine within the +/- of the readings can be simulated\n    accepted: readings that still fit "
            "together when each is moved within its +/-\n    what to do: measure the ones with a wide +/- again"
        )
    found: list[tuple[CycleResult, ...]] = []
    for speed in speeds_rpm:
        rows = batch([one.at(speed) for one in builds], [speed], settings, threads)
        found.append(tuple(row[0] for row in rows if isinstance(row[0], CycleResult)))
        if progress is not None and progress(len(found), len(speeds_rpm)):
            raise CycleError(f"stopped after {len(found)} of {len(speeds_rpm)} speeds, as asked")
    return Spread(tuple(speeds_rpm), tuple(found), engines, len(drawn[0]), engines - len(builds))


def of_record(record: EngineRecord, air: Conditions) -> Build:
    """The engine of a record in this air, without any +/- of its own."""
    return build_of(work_out(record, draws=0), air=air)
