"""The smallest relaxation of limits against trying every design there is."""

from itertools import product

import pytest

from scribeline.plan.limit_table import LimitTable, OneLimit
from scribeline.plan.search import Option
from scribeline.plan.search_judging import Conflict, PlanSearch
from scribeline.plan.search_relaxing import Known, over, smallest_relaxation
from scribeline.plan.search_space import Space, space_for
from tests.plan.test_search_plans import BOX, GOAL, OVER, RECORD

TIGHT = LimitTable(
    set=(
        OneLimit(name="squish_gap_min_mm", low=0.9), OneLimit(name="squish_gap_mm", high=0.92),
        OneLimit(name="compression_ratio_trapped", high=6.0), OneLimit(name="blowdown_deg", low=24.0),
    )
)  # fmt: skip
ALONE = ("intake", "pipe", "ports", "head")


def space(table: LimitTable = TIGHT, keep: tuple[str, ...] = ALONE) -> Space:
    return space_for(RECORD, BOX, tools=("glass plate", "file"), keep=keep, mend=True, table=table)


def every_one(of: Space, known: Known) -> list[dict[str, float]]:
    """Limits passed by every design on a grid of all choices and every step of each amount."""
    choices = [
        one.options
        if isinstance(one, Option)
        else [round(one.step * k, 9) for k in range(round(one.most / one.step) + 1)]
        for one in of.variables
    ]
    names = [one.name for one in of.variables]
    found = (over(of, dict(zip(names, design, strict=True)), known) for design in product(*choices))
    return [{name: by for name, by in one.items() if by > 1e-9} for one in found if one is not None]


def test_it_is_the_least_of_every_design_there_is() -> None:
    """Four limits that contradict each other, two gasket stacks and a cut: nothing on the whole grid asks for less."""
    of, known = space(), Known()
    one = PlanSearch(of, GOAL, OVER, None)
    shares = [one.share(Conflict(passed, ())) for passed in every_one(of, known)]
    found = smallest_relaxation(of, one.bounds())
    assert found is not None
    assert len(shares) > 60
    assert min(shares) > 0.0
    assert one.share(Conflict(found.passed, ())) == pytest.approx(min(shares), abs=1e-9)
    assert of.passed(found.design) == pytest.approx(dict(found.passed))


def test_a_limit_alone_gives_the_least_that_it_must_while_all_others_are_kept() -> None:
    table = LimitTable(set=TIGHT.set[:2])
    of, known = space(table), Known()
    one = PlanSearch(of, GOAL, OVER, None)
    every = every_one(of, known)
    for name in ("squish_gap_min_mm", "squish_gap_mm"):
        found = smallest_relaxation(of, one.bounds(), [name])
        assert found is not None
        least = min(passed[name] for passed in every if set(passed) == {name})
        assert dict(found.passed) == {name: pytest.approx(least, abs=1e-9)}


def test_where_every_limit_can_be_kept_nothing_gives() -> None:
    found = smallest_relaxation(space(LimitTable()), PlanSearch(space(LimitTable()), GOAL, OVER, None).bounds())
    assert found is not None
    assert found.passed == {}
    assert space(LimitTable()).passed(found.design) == {}


def test_where_no_limit_may_give_and_none_can_be_kept_there_is_none() -> None:
    of = space()
    assert smallest_relaxation(of, PlanSearch(of, GOAL, OVER, None).bounds(), []) is None
