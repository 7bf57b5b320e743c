"""Roll-outs on the disk, to the lines of a record: against a vehicle whose rolling and drag are known."""

import doctest
import tomllib
from pathlib import Path

import numpy as np
import pytest

from scribeline.errors import TrialError
from scribeline.recordings.invented import GRADE, WIND_M_S, invent_day
from scribeline.recordings.invented.files import write_roll_outs
from scribeline.recordings.invented.ride import AIR_N_S2_M2, MASS_KG, ROLLING_N
from scribeline.tasks import coasting
from scribeline.tasks.coasting import coast_files, coast_text
from tests.trials.roads import Truth, sampled

TRUTH = Truth()


def test_examples_in_the_docstrings() -> None:
    results = doctest.testmod(coasting)
    assert (results.attempted >= 1, results.failed) == (True, 0)


def log(path: Path, way: int, seed: int, wind: float = 1.5) -> Path:
    """Riding at speed, rolling out, braking: as a logger writes it."""
    _, v = TRUTH.coast(23.0, 40.0, way, wind, 0.002)
    whole = np.concatenate([np.full(500, 23.0), v, np.linspace(v[-1], 0.0, 300)])
    at, speed = sampled(np.arange(whole.size) * 1e-2, whole, 5.0, 0.05, np.random.default_rng(seed))
    rows = "\n".join(f"{a:.2f},{3.6 * max(s, 0.0):.3f}" for a, s in zip(at, speed, strict=True))
    path.write_text(f"time (s),speed (km/h)\n{rows}\n")
    return path


def test_rolling_and_drag_of_a_known_vehicle_come_out(tmp_path: Path) -> None:
    out = [log(tmp_path / f"out{i}.csv", 1, i) for i in range(3)]
    back = [log(tmp_path / f"back{i}.csv", -1, 10 + i) for i in range(3)]
    coasted = coast_files(out, back, TRUTH.mass_kg, "20 C, 1000 hPa, 50 %")
    assert len(coasted.stretches) == 6
    found = coasted.found
    assert abs(found.f0_n - TRUTH.f0_n) < 0.08 * TRUTH.f0_n
    assert found.f2_n_s2_m2 == pytest.approx(TRUTH.f2, rel=0.05)
    assert found.wind_m_s == pytest.approx(1.5, abs=0.3)
    text = coast_text(coasted)
    assert f"drag_area_m2 = {{ value = {found.drag_area_m2(coasted.density_kg_m3):.3f}" in text
    assert "runs among themselves ±" in text
    alone = " ".join(coast_text(coast_files(out[:1], back[:1], TRUTH.mass_kg)).split())
    assert "too few runs to see how far runs differ" in alone
    rolling_pm = found.f0_wider_pm_n / (TRUTH.mass_kg * 9.80665)
    assert f"plus_minus = {rolling_pm:.4f} }}" in text
    assert "3 each way; published practice is 5" in text
    assert "CAUTIONS" in text


def test_the_invented_roll_outs_give_back_their_truth(tmp_path: Path) -> None:
    """The files of the invented day, as the tutorial uses them. How often a +/- holds is the next test's question."""
    invent_day(tmp_path)
    truth = tomllib.loads((tmp_path / "truth.toml").read_text())
    assert truth["invented"] is True
    vehicle, driven = truth["vehicle"], truth["roll_outs"]
    coasted = coast_files(
        [tmp_path / "rolling-out.csv"], [tmp_path / "rolling-back.csv"], vehicle["mass_with_rider_kg"]
    )
    found = coasted.found
    assert len(coasted.stretches) == 10
    assert abs(found.f0_n - vehicle["rolling_n"]) <= found.f0_pm_n
    assert abs(found.f2_n_s2_m2 - vehicle["air_n_s2_m2"]) <= found.f2_pm_n_s2_m2
    assert found.f0_pm_n < 0.01 * vehicle["rolling_n"]
    assert found.wind_m_s == pytest.approx(driven["headwind_out_m_s"], abs=0.05)
    assert found.grade == pytest.approx(driven["grade_out"], abs=2e-4)
    assert found.remarks == ()


def test_the_plus_minus_of_rolling_and_drag_holds_the_truth(tmp_path: Path) -> None:
    """30 such days: riding before and braking after, let in by a second, would leave none within its +/-."""
    inside = []
    for seed in range(30):
        dice = np.random.default_rng(seed)
        for way, sign in (("out", 1.0), ("back", -1.0)):
            write_roll_outs(tmp_path / f"{way}.csv", sign * WIND_M_S, sign * GRADE, dice)
        found = coast_files([tmp_path / "out.csv"], [tmp_path / "back.csv"], MASS_KG).found
        inside.append(abs(found.f0_n - ROLLING_N) <= found.f0_pm_n)
        inside.append(abs(found.f2_n_s2_m2 - AIR_N_S2_M2) <= found.f2_pm_n_s2_m2)
    assert np.mean(inside) >= 0.9


def test_one_way_says_so_and_nothing_to_coast_is_refused(tmp_path: Path) -> None:
    assert "one way only" in coast_text(coast_files([log(tmp_path / "out.csv", 1, 1)], [], TRUTH.mass_kg))
    flat = tmp_path / "flat.csv"
    flat.write_text("time (s),speed (km/h)\n" + "\n".join(f"{i / 5:.1f},40.0" for i in range(200)) + "\n")
    with pytest.raises(TrialError, match="no roll-out in 1 recordings"):
        coast_files([flat], [], TRUTH.mass_kg)
    with pytest.raises(TrialError, match="20 to 2000"):
        coast_files([flat], [], 2.0)
    with pytest.raises(TrialError, match="table of gate times"):
        coast_files([Path("examples/gate-times.csv")], [], 150.0)
