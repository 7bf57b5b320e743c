"""An invented day of test runs of the demonstration kart, in recordings of every kind, with its truth beside them.

    python examples/make_recordings.py FOLDER

writes it. INVENTED: no such kart exists, nobody rode it, and the power curves are no claim about what a pipe does. It
is there so that the demonstration, the tutorial and the tests have files whose answer is known.
"""

from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import tomlkit

from scribeline.recordings.invented.files import (
    write_columns,
    write_film,
    write_fit,
    write_gate_times,
    write_gpx,
    write_nmea,
    write_roll_outs,
)
from scribeline.recordings.invented.ride import (
    AIR_N_S2_M2,
    CRANK_KW,
    CURVE_RPM,
    EFFICIENCY,
    MASS_KG,
    METRES_PER_TURN,
    ROLLING_N,
    Ride,
    ride,
)

__all__ = ["GATES", "ORDER", "Ride", "invent_day", "invented_runs", "ride"]

START = datetime(2026, 5, 16, 9, 0, 0, tzinfo=UTC)
ORDER = ("stock", "new pipe", "new pipe", "stock", "stock", "new pipe", "new pipe", "stock")
"""Setups in the order in which they ran: ABBA twice, so that a drift through the day cancels out."""
GATES = ((40, 60), (60, 80))
"""Speeds in km/h between which times were typed."""
WIND_M_S = 0.8
GRADE = 0.002
"""Slope of the straight on the way out; the way back falls by as much."""
SCATTER, WARMING = 0.008, 0.001
"""From run to run the power scatters by this share, and rises by this much with each run (invented)."""


def invented_runs(order: Sequence[str] = ORDER, seed: int = 98) -> list[Ride]:
    """The day's runs in order, out and back in turn, each with its own small luck."""
    rng = np.random.default_rng(seed)
    counts: dict[str, int] = {}
    runs = []
    for number, setup in enumerate(order):
        counts[setup] = counts.get(setup, 0) + 1
        luck = 1.0 + SCATTER * float(rng.standard_normal()) + WARMING * number
        wind = WIND_M_S if counts[setup] % 2 else -WIND_M_S
        runs.append(ride(setup, counts[setup], power_share=luck, headwind_m_s=wind))
    return runs


def invent_day(folder: Path, *, seed: int = 98, say: Callable[[str], None] = lambda _: None) -> list[Path]:
    """Write the day into a folder, which is made where it does not exist, and return the files.

    Every run as an NMEA log; the first of each setup also as a film's sound, a GPX track, a FIT file and a 50 Hz CSV;
    all gate times in one typed table; roll-outs both ways for rolling and drag; `truth.toml`. The same seed writes the
    same bytes. About 1 MB, some seconds.
    """
    folder.mkdir(parents=True, exist_ok=True)
    runs = invented_runs(seed=seed)
    rng = np.random.default_rng(seed + 1)
    written = []

    def keep(path: Path) -> Path:
        written.append(path)
        say(path.name)
        return path

    for number, run in enumerate(runs):
        name = f"{run.setup.replace(' ', '-')}-{run.run}"
        start = START + timedelta(minutes=12 * number)
        write_nmea(keep(folder / f"{name}.nmea"), run, start, rng)
        if run.run == 1:
            write_gpx(keep(folder / f"{name}.gpx"), run, start, rng)
            write_fit(keep(folder / f"{name}.fit"), run, start, rng)
            write_columns(keep(folder / f"{name}.csv"), run, rng)
            write_film(keep(folder / f"{name}.m4a"), run, seed + number)
    write_gate_times(keep(folder / "gate-times.csv"), runs, GATES, rng)
    rng = np.random.default_rng(seed + 3)
    for way, sign in (("out", 1.0), ("back", -1.0)):
        write_roll_outs(keep(folder / f"rolling-{way}.csv"), sign * WIND_M_S, sign * GRADE, rng)
    keep(folder / "truth.toml").write_text(_truth(runs), encoding="utf-8")
    return written


def _truth(runs: Sequence[Ride]) -> str:
    document = tomlkit.document()
    document.add(tomlkit.comment("What the invented day was made from. INVENTED: no such kart exists."))
    document.add("invented", True)
    vehicle = {
        "mass_with_rider_kg": MASS_KG,
        "metres_per_turn": METRES_PER_TURN,
        "efficiency": EFFICIENCY,
        "rolling_n": ROLLING_N,
        "air_n_s2_m2": AIR_N_S2_M2,
    }
    document.add("vehicle", {name: round(value, 6) for name, value in vehicle.items()})
    document.add("roll_outs", {"headwind_out_m_s": WIND_M_S, "grade_out": GRADE})
    document.add("crank_kw", {"rpm": CURVE_RPM.tolist()} | {name: kw.tolist() for name, kw in CRANK_KW.items()})
    tables = tomlkit.aot()
    for run in runs:
        table = tomlkit.table()
        for key, value in (("setup", run.setup), ("run", run.run), ("direction", run.direction)):
            table.add(key, value)
        for low, high in GATES:
            table.add(f"from_{low}_to_{high}_km_h_s", round(run.gate_s(low, high), 4))
        tables.append(table)
    document.add("runs", tables)
    return tomlkit.dumps(document)
