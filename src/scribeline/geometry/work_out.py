"""The whole engine worked out: every derived number of a record with its +/-, from one call."""

from collections.abc import Mapping
from dataclasses import dataclass

from scribeline.engine import EngineRecord, Reading, readings
from scribeline.errors import WorkingError
from scribeline.geometry.derive.bottom_end import derive_crank, derive_deck
from scribeline.geometry.derive.chamber import derive_chamber
from scribeline.geometry.derive.crankcase import derive_crankcase
from scribeline.geometry.derive.intake import derive_intake
from scribeline.geometry.derive.pipe_and_drive import derive_drive, derive_pipe
from scribeline.geometry.derive.ports import derive_ports
from scribeline.geometry.derive.squish import derive_squish
from scribeline.geometry.derive.timing import derive_timing
from scribeline.geometry.derive.walls import derive_walls
from scribeline.geometry.evaluate import DRAWS, SEED, Agreement, evaluate, shares
from scribeline.geometry.working import Assumption, FloatArray, Worked, Workings, by_place

_SUBJECTS = (
    ("Crank and piston", derive_crank),
    ("Deck and gaskets", derive_deck),
    ("Port by port", derive_ports),
    ("Timing", derive_timing),
    ("Walls, rings and clutch", derive_walls),
    ("Intake", derive_intake),
    ("Chamber and compression", derive_chamber),
    ("Squish", derive_squish),
    ("Crankcase", derive_crankcase),
    ("Pipe", derive_pipe),
    ("On the road", derive_drive),
)
_ORDER = {topic: place for place, (topic, _) in enumerate(_SUBJECTS)}


@dataclass(frozen=True)
class WorkedOut:
    """Everything that follows from a record by geometry.

    values : derived numbers by name, in the order of the card; those this engine lacks have value None
    samples : the arrays behind them, element 0 as measured, then the draws
    agreements : what was measured twice, and whether it agrees
    assumed : what nobody measured and had to be taken as something, or was chosen
    used : names of the readings and assumptions that some number rests on
    """

    record: EngineRecord
    readings: Mapping[str, Reading]
    values: Mapping[str, Worked]
    samples: Mapping[str, FloatArray]
    agreements: tuple[Agreement, ...]
    assumed: Mapping[str, Assumption]
    used: Mapping[str, None]
    draws: int
    seed: int

    def value(self, name: str) -> float | None:
        """A derived number, or None where this engine lacks it; an unknown name raises WorkingError."""
        if name not in self.values:
            raise WorkingError(f"{name}: no such number on this card; accepted: {', '.join(self.values)}")
        return self.values[name].value


def work_out(
    record: EngineRecord, *, speed_rpm: float | None = None, draws: int = DRAWS, seed: int = SEED
) -> WorkedOut:
    """Work out a record.

    record : a record that `read_record` accepted
    speed_rpm : crank speed for piston speeds and time-areas; the record's own where left out
    draws : random draws for the +/- (jcgm-101); 0 works out the numbers alone, without +/-
    seed : the same seed gives the same +/-, on every machine
    Raises WorkingError where the readings contradict each other so far that a number does not exist.
    """
    if speed_rpm is not None:
        record = EngineRecord.model_validate(record.model_copy(update={"speed_rpm": float(speed_rpm)}))
    w = workings_of(record)
    done = evaluate(w, draws, seed)
    return WorkedOut(
        record=record,
        readings=w.readings,
        values={worked.name: worked for worked in sorted(done.values.values(), key=_place)},
        samples=done.samples,
        agreements=tuple(done.agreements),
        assumed=w.assumed,
        used=w.used(),
        draws=draws,
        seed=seed,
    )


def _place(worked: Worked) -> tuple[int, bool]:
    """Where a number stands on the card: under its heading, and behind those that the engine has."""
    return _ORDER[worked.topic], worked.value is None


def workings_of(record: EngineRecord) -> Workings:
    """The lines of the card that a record allows, before any number is put in."""
    w = Workings(by_place(readings(record)))
    for topic, derive in _SUBJECTS:
        w.topic = topic
        derive(w, record)
    return w


def shares_of(out: WorkedOut) -> dict[str, dict[str, float]]:
    """Which readings make the +/- of each number, see `evaluate.shares`."""
    return shares(workings_of(out.record))
