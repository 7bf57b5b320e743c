"""The search against problems with known answers, against trying everything, and through interruptions.

Known answers are those shipped with pymoo: the fronts of BNH (Binh and Korn 1997) and SRN (Srinivas and Deb 1994), by
hypervolume, the share of the known front's that was reached; the optima of g24 (Liang and others 2006), a corner, and
of a cantilevered beam, to a twentieth with this few evaluations.
"""

import json
import os
import signal
import subprocess
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from itertools import product
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pymoo.indicators.hv import HV
from pymoo.problems import get_problem

from scribeline.errors import SearchError
from scribeline.plan.search import Amount, Design, Found, Judge, Option, Refused, Tried, Verdict, nondominated, search


def judge_by(
    evaluate: Callable[[Iterable[Design]], Iterable[Tried]],
    refuse: Callable[[Design], Mapping[str, float]] | None = None,
) -> Judge:
    """Judges designs one after the other: first by limits, then by what a function makes of it."""

    def judge(designs: Sequence[Design], most: int) -> Iterator[tuple[int, Verdict]]:
        left = most
        for number, design in enumerate(designs):
            passed = {name: by for name, by in (refuse(design) if refuse else {}).items() if by > 0.0}
            if passed:
                yield number, Refused(design, passed)
            elif left:
                left -= 1
                yield number, next(iter(evaluate([design])))

    return judge


# --- known answers ----------------------------------------------------------------------------------------------


def front_of(name: str, evaluations: int) -> tuple[np.ndarray, np.ndarray]:
    """The front that the search finds of a shipped problem, and the known one."""
    problem = get_problem(name)
    low, high = problem.bounds()
    variables = [
        Amount(f"x{i}", float(b - a), float(b - a) / 2000.0) for i, (a, b) in enumerate(zip(low, high, strict=True))
    ]

    def evaluate(designs: Iterable[Design]) -> Iterator[Tried]:
        for one in designs:
            x = np.array([float(one[f"x{i}"]) for i in range(problem.n_var)]) + low
            out = problem.evaluate(x, return_as_dictionary=True)
            yield Tried(one, tuple(map(float, out["F"])), tuple(map(float, out["G"])))

    found = search(
        variables, judge_by(evaluate), aims=problem.n_obj, limits=problem.n_ieq_constr, evaluations=evaluations
    )
    assert all(one.allowed for one in found.front())
    return np.array([one.aims for one in found.front()]), problem.pareto_front()


@pytest.mark.parametrize(("name", "worst"), [("bnh", (140.0, 50.0)), ("srn", (225.0, -24.75))])
def test_known_fronts_are_reached(name: str, worst: tuple[float, float]) -> None:
    found, known = front_of(name, 1600)
    volume = HV(np.array(worst))
    assert volume(found) >= 0.97 * volume(known)
    # and nothing better than the best there is, but for the known front being a polygon of points
    assert volume(found) <= 1.01 * volume(known)


@pytest.mark.parametrize(("name", "close"), [("g24", 0.02), ("cantilevered_beam", 0.05 * 92.7693)])
def test_known_optima_under_constraints_are_reached(name: str, close: float) -> None:
    found, known = front_of(name, 1500)
    assert found.shape == (1, 1)
    assert float(known[0, 0]) - 1e-6 <= found[0, 0] <= float(known[0, 0]) + close


AMOUNTS = [
    Amount("cut", 2.0, 0.5),
    Amount("longer", 60.0, 20.0, low=-60.0),
    Option("gasket", ("as it is", "thin", "thick")),
]


def mixed(design: Design) -> Tried:
    """A small problem with a gasket: thin wants a small cut, thick a large one; only gasket and cut together pay."""
    cut, longer, gasket = float(design["cut"]), float(design["longer"]), str(design["gasket"])
    wanted = {"as it is": 0.0, "thin": 0.5, "thick": 1.5}[gasket]
    gain = -((cut - wanted) ** 2) - ((longer - 40.0) / 40.0) ** 2 + {"as it is": 0.0, "thin": 0.6, "thick": 1.0}[gasket]
    return Tried(design, (-gain, cut), (cut + (0.5 if gasket == "thick" else 0.0) - 1.8,))


MIXED = judge_by(lambda designs: map(mixed, designs))


def test_a_mixed_problem_is_solved_as_by_trying_everything() -> None:
    everything = [
        mixed({"cut": cut, "longer": longer, "gasket": gasket})
        for cut, longer, gasket in product(np.arange(0, 2.01, 0.5), np.arange(-60, 61, 20), AMOUNTS[2].options)  # type: ignore[union-attr]
    ]
    allowed = np.array([one.aims for one in everything if one.allowed])
    best = {tuple(np.round(allowed[i], 9)) for i in nondominated(allowed)}
    found = search(AMOUNTS, MIXED, aims=2, limits=1, evaluations=100, population=20)
    assert {tuple(np.round(one.aims, 9)) for one in found.front()} == best
    assert found.finished


def test_what_is_refused_is_never_evaluated() -> None:
    seen: list[Design] = []

    def evaluate(designs: Iterable[Design]) -> Iterator[Tried]:
        for one in designs:
            seen.append(one)
            yield mixed(one)

    def refuse(design: Design) -> Mapping[str, float]:
        return {"cut": float(design["cut"]) - 1.2, "other": 0.0}

    found = search(AMOUNTS, judge_by(evaluate, refuse), aims=2, limits=1, evaluations=60, population=20)
    assert seen
    assert max(float(one["cut"]) for one in seen) <= 1.2
    assert min(float(one.design["cut"]) for one in found.refused) > 1.2
    assert len({json.dumps(one) for one in seen}) == len(seen) == len(found.tried)


def test_where_everything_is_refused_the_nearest_is_told() -> None:
    found = search(
        AMOUNTS, judge_by(lambda designs: map(mixed, designs), lambda one: {"cut": 2.5 - float(one["cut"])}), aims=2,
        limits=1, evaluations=20, population=20,
    )  # fmt: skip
    assert found.tried == []
    assert found.front() == []
    nearest = min(found.refused, key=lambda one: one.beyond)
    assert nearest.passed == {"cut": pytest.approx(0.5)}
    assert nearest.design["cut"] == 2.0


def test_designs_to_begin_with_come_first() -> None:
    first = [{"cut": 1.0, "longer": -40.0, "gasket": "thick"}, {"gasket": "thin"}]
    found = search(AMOUNTS, MIXED, aims=2, limits=1, first=first, evaluations=30)
    assert dict(found.tried[0].design) == first[0]
    assert dict(found.tried[1].design) == {"cut": 0.0, "longer": 0.0, "gasket": "thin"}


def test_the_budget_is_kept_and_a_seed_decides() -> None:
    def run(seed: int) -> list[Design]:
        return [one.design for one in search(
            AMOUNTS, MIXED, aims=2, limits=1, evaluations=37, population=16, seed=seed
        ).tried]  # fmt: skip

    assert len(run(1)) == 37
    assert run(1) == run(1)
    assert run(1) != run(2)


def whole(evaluations: int = 80) -> Found:
    return search(AMOUNTS, MIXED, aims=2, limits=1, evaluations=evaluations, population=20)


def refuse_deep(design: Design) -> Mapping[str, float]:
    return {"cut": float(design["cut"]) - 1.2}


@pytest.mark.parametrize("evaluations", [21, 37])
def test_the_order_in_which_verdicts_come_changes_nothing(tmp_path: Path, evaluations: int) -> None:
    """Told backwards, or at random with all of the refused last, a search goes the same way, its journal with it."""
    inner = judge_by(lambda designs: map(mixed, designs), refuse_deep)
    rng = np.random.default_rng(3)

    def backwards(designs: Sequence[Design], most: int) -> Iterator[tuple[int, Verdict]]:
        yield from reversed([*inner(designs, most)])

    def anyhow(designs: Sequence[Design], most: int) -> Iterator[tuple[int, Verdict]]:
        told = [*inner(designs, most)]
        rng.shuffle(told)  # type: ignore[arg-type]
        yield from sorted(told, key=lambda one: isinstance(one[1], Refused))

    found, texts = [], set()
    for judge in (inner, backwards, anyhow):
        journal = tmp_path / "search.json"
        found.append(search(AMOUNTS, judge, aims=2, limits=1, evaluations=evaluations, population=20, journal=journal))
        texts.add(journal.read_text())
        journal.unlink()
    assert found[0] == found[1] == found[2]
    assert found[0].refused
    assert len(found[0].tried) == evaluations
    assert len(texts) == 1


def test_whoever_judges_beyond_the_budget_is_held_to_it() -> None:
    eager = judge_by(lambda designs: map(mixed, designs))
    found = search(AMOUNTS, lambda designs, most: eager(designs, 1000), aims=2, limits=1, evaluations=37, population=20)
    assert found == whole(37)


@pytest.mark.parametrize("how", ["asked to stop", "interrupted"])
def test_what_was_not_its_turn_yet_is_kept_when_a_search_is_stopped(tmp_path: Path, how: str) -> None:
    """The first design takes longest: thirteen others are told before it, and then it ends."""
    journal = tmp_path / "search.json"

    def judge(designs: Sequence[Design], most: int) -> Iterator[tuple[int, Verdict]]:
        told = [*MIXED(designs, most)]
        yield from told[1:14]
        if how == "interrupted":
            raise KeyboardInterrupt
        yield told[0]

    found = search(
        AMOUNTS, judge, aims=2, limits=1, evaluations=80, population=20, journal=journal,
        progress=lambda found, most: True,
    )  # fmt: skip
    assert not found.finished
    assert len(found.tried) == (1 if how == "asked to stop" else 0)
    kept = json.loads(journal.read_text())["tried"]
    assert len(kept) == (14 if how == "asked to stop" else 13)
    went_on = search(AMOUNTS, MIXED, aims=2, limits=1, evaluations=80, population=20, journal=journal)
    assert went_on == whole()


# --- amounts ----------------------------------------------------------------------------------------------------


@given(st.floats(-200, 200))
def test_an_amount_is_nothing_or_steps_within_its_range(raw: float) -> None:
    for one in (Amount("a", 1.5, 0.05, 0.1), Amount("b", 120.0, 5.0, 10.0, low=-80.0)):
        low, high = one.raw_bounds
        got = one.of(min(max(raw, low), high))
        assert got == 0.0 or one.least <= abs(got)
        assert one.low <= got <= one.most
        assert abs(got / one.step - round(got / one.step)) < 1e-9
        assert one.of(one.raw_of(got)) == got


@pytest.mark.parametrize("one", [Amount("a", 1.5, 0.05), Amount("b", 120.0, 5.0, low=-80.0)])
def test_a_third_of_the_raw_range_is_nothing(one: Amount) -> None:
    raw = np.linspace(*one.raw_bounds, 30001)
    assert np.mean([one.of(float(value)) == 0.0 for value in raw]) == pytest.approx(1 / 3, abs=0.03)


def test_nondominated_by_the_definition() -> None:
    rng = np.random.default_rng(2)
    aims = rng.integers(0, 6, size=(60, 3)).astype(float)
    kept = nondominated(aims)
    for i, row in enumerate(aims):
        beaten = any((other <= row).all() and (other < row).any() for other in aims)
        assert beaten or any((aims[k] == row).all() for k in kept)
        assert not (beaten and i in kept)


# --- interruptions -------------------------------------------------------------------------------------------------


def test_a_search_that_goes_on_ends_where_an_uninterrupted_one_ends(tmp_path: Path) -> None:
    journal = tmp_path / "search.json"
    evaluated: list[Design] = []

    def evaluate(designs: Iterable[Design]) -> Iterator[Tried]:
        for one in designs:
            evaluated.append(one)
            yield mixed(one)

    for stop_after in (13, 41, None):
        found = search(
            AMOUNTS, judge_by(evaluate), aims=2, limits=1, evaluations=80, population=20, journal=journal,
            progress=lambda found, most, stop=stop_after: stop is not None and len(found.tried) >= stop,
        )  # fmt: skip
        assert found.finished is (stop_after is None)
        if stop_after is not None:
            assert len(json.loads(journal.read_text())["tried"]) >= stop_after
    assert [one.design for one in found.tried] == [one.design for one in whole().tried]
    assert [one.aims for one in found.tried] == [one.aims for one in whole().tried]
    assert len(evaluated) == len(found.tried)


SLOW = """
import sys, time
from pathlib import Path
from tests.plan.test_search import AMOUNTS, judge_by, mixed
from scribeline.plan.search import search
def evaluate(designs):
    for one in designs:
        time.sleep(0.05)
        print("one", flush=True)
        yield mixed(one)
found = search(
    AMOUNTS, judge_by(evaluate), aims=2, limits=1, evaluations=80, population=20, journal=Path(sys.argv[1])
)
print("ended", found.finished, len(found.tried), flush=True)
"""


@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGINT], ids=["killed", "interrupted"])
def test_killed_or_interrupted_nothing_that_was_written_is_lost(tmp_path: Path, how: signal.Signals) -> None:
    journal = tmp_path / "search.json"
    command = [sys.executable, "-c", SLOW, str(journal)]
    root = Path(__file__).parents[2]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=root, start_new_session=True) as process:
        assert process.stdout is not None
        for _ in range(55):
            assert process.stdout.readline() == "one\n"
        os.kill(process.pid, how)
        rest = process.stdout.read()
    kept = len(json.loads(journal.read_text())["tried"])
    # 54 and one under way take 2.7 s; it is written at an interrupt and every 2 s, enough for 40 of them at most
    assert (54 if how is signal.SIGINT else 15) <= kept < 80
    if how is signal.SIGINT:
        assert "ended False" in rest
        assert kept >= 54
    found = search(AMOUNTS, MIXED, aims=2, limits=1, evaluations=80, population=20, journal=journal)
    assert [(one.design, one.aims) for one in found.tried] == [(one.design, one.aims) for one in whole().tried]
    assert list(tmp_path.iterdir()) == [journal]


@pytest.mark.parametrize("text", ["", "{}", '{"scribeline_search": 2}', '{"scribeline_search": 1, "tried": [1]}'])
def test_a_file_that_is_no_journal_is_refused(tmp_path: Path, text: str) -> None:
    journal = tmp_path / "search.json"
    journal.write_text(text)
    with pytest.raises(SearchError, match="no journal of a search"):
        search(AMOUNTS, MIXED, aims=2, limits=1, journal=journal)
    assert journal.read_text() == text


def test_the_journal_of_another_search_is_refused(tmp_path: Path) -> None:
    journal = tmp_path / "search.json"
    for purpose in ("kart", "kart"):
        search(
            AMOUNTS, MIXED, aims=2, limits=1, evaluations=5, journal=journal,
            purpose=purpose,
        )  # fmt: skip
    with pytest.raises(SearchError, match="the journal of another search"):
        search(AMOUNTS, MIXED, aims=2, limits=1, journal=journal, purpose="moped")


def test_a_journal_that_cannot_be_written_is_said(tmp_path: Path) -> None:
    with pytest.raises(SearchError, match="a folder you may write to"):
        search(
            AMOUNTS, MIXED, aims=2, limits=1, evaluations=30,
            journal=tmp_path / "none" / "search.json",
        )  # fmt: skip
