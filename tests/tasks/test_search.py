"""Finding a plan as a task: what comes out as text, JSON and page, and what is refused. The simulator is a formula."""

import json
import re
from dataclasses import replace
from pathlib import Path

import pytest

from scribeline.engine import read_record_file
from scribeline.errors import SearchError
from scribeline.plan.box import Box, read_box_file
from scribeline.plan.carry_out import carry_out
from scribeline.plan.limit_table import LimitTable, OneLimit
from scribeline.plan.phrases import shown
from scribeline.plan.plan_file import read_plan
from scribeline.plan.search_words import CAREFUL, NEVER_PROVED, explained, verdict
from scribeline.plan.who_limits import answer
from scribeline.tasks.search import (
    Search,
    also_of,
    chosen_text,
    keep_of,
    search_json,
    search_of_file,
    stack_rows,
    stacks_of,
    stacks_of_file,
    together,
    tools_of,
    who_of_file,
)
from scribeline.tasks.search_page import plans_drawing, search_page, who_drawing
from scribeline.tasks.search_text import search_text, stacks_text, who_text
from tests.examples import FOLDER, KART, path_of
from tests.tasks.formula import put_in

BOX = str(FOLDER / "gasket-box.toml")


@pytest.fixture(scope="module")
def found() -> Search:
    with pytest.MonkeyPatch.context() as patch:
        put_in(patch)
        return search_of_file(
            path_of(KART), "8000:10000", gaskets="base 0.2, head 0.4", keep=("intake", "pipe", "head"), evaluations=70,
            most_plans=4,
        )  # fmt: skip


def test_the_text_says_it_all(found: Search) -> None:
    text = search_text(found)
    flat = re.sub(r"\s+", " ", text)
    assert verdict(found.searched) in flat
    assert NEVER_PROVED in flat
    assert "INVENTED" in text
    for plan in found.searched.plans:
        for step in plan.steps:
            assert shown(step) in text
        for sentence in explained(plan, found.searched):
            assert sentence in flat
    assert found.who is not None
    for one in found.who.shares:
        assert answer(one) in flat
    assert "Not searched: mixture" in flat
    for caution in found.cautions:
        assert caution.text in flat
    assert max(len(line) for line in text.splitlines()) <= 110
    assert text.index("PLAN 1: the gentlest") < text.index("PLAN 2")


def test_json_holds_the_same(found: Search) -> None:
    document = json.loads(search_json(found))
    assert [one["steps"] for one in document["plans"]] == [
        [shown(step) for step in plan.steps] for plan in found.searched.plans
    ]
    assert document["verdict"] == verdict(found.searched)
    assert document["never_proved"] == NEVER_PROVED
    assert document["engine"]["invented"] is True
    assert document["searched"]["finished"] is True
    shares = document["who_limits"]["numbers"][0]
    assert sum(shares["shares"].values()) == pytest.approx(shares["after"] - shares["before"])


def test_the_page_loads_nothing_and_shows_every_plan(found: Search) -> None:
    page = search_page(found)
    assert "default-src 'none'" in page
    assert "http" not in page.replace("http://www.w3.org", "").replace("http-equiv", "")
    assert page.count("<h3>Plan ") == len(found.searched.plans)
    assert "Who limits what" in page
    assert "Gain against metal" in page
    for key, words in CAREFUL.items():
        assert key in CAREFUL
        assert words in page or key == "rpm-limit"


def test_drawings_hold_every_plan_and_group(found: Search) -> None:
    assert f"plan {len(found.searched.plans)}:" in str(plans_drawing(found.searched).groups)
    assert found.who is not None
    drawing = str(who_drawing(found.who).groups)
    assert all(group in drawing for group in found.who.groups)


def test_a_stopped_search_says_so(found: Search) -> None:
    stopped = replace(found, searched=replace(found.searched, finished=False))
    for text in (search_text(stopped), search_page(stopped)):
        assert "the best so far" in re.sub(r"\s+", " ", text)


def test_a_chosen_plan_can_be_read_and_done(found: Search) -> None:
    plan = read_plan(chosen_text(found, 2))
    expected = found.searched.plans[1]
    assert plan.steps == expected.steps
    assert carry_out(found.record, plan.steps, plan.box) == found.searched.space.built(expected.design)
    assert NEVER_PROVED in plan.note


@pytest.mark.parametrize("number", [0, 99])
def test_a_plan_that_is_not_there_cannot_be_chosen(found: Search, number: int) -> None:
    with pytest.raises(SearchError, match=rf"--choose {number}\n    accepted: 1 to \d"):
        chosen_text(found, number)


def test_what_is_typed_is_read_or_refused() -> None:
    assert tools_of(None) == ("file", "glass plate", "saw")
    assert tools_of("lathe, file") == ("lathe", "file")
    assert keep_of(["pipe, head", "ports"]) == ("pipe", "head", "ports")
    assert also_of("pull, trapped") == ("low_nm", "trapped_mg")
    assert also_of("") == ()
    with pytest.raises(SearchError, match="--tools chisel"):
        tools_of("chisel")
    with pytest.raises(SearchError, match="--also noise"):
        also_of("noise")


def test_the_same_search_goes_on_by_itself(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Nobody names a journal: it lies in the cache folder under a name of its own, and old ones go."""
    put_in(monkeypatch)
    monkeypatch.setenv("SCRIBELINE_SEARCHES", str(tmp_path))
    for number in range(25):
        (tmp_path / f"old-{number}.json").write_text("{}")

    def search(goal: str) -> list[str]:
        search_of_file(
            path_of(KART), goal, gaskets="base 0.2", keep=("intake", "pipe", "head", "ports"), evaluations=12,
            most_plans=1, shares=False,
        )  # fmt: skip
        return sorted(file.name for file in tmp_path.iterdir() if not file.name.startswith("old-"))

    first = search("8000:10000")
    assert len(first) == 1
    kept = (tmp_path / first[0]).read_text()
    assert search("8000:10000") == first
    assert (tmp_path / first[0]).read_text() == kept
    assert len(search("pull")) == 2
    assert len(list(tmp_path.iterdir())) <= 21


def test_parts_at_hand_are_put_together() -> None:
    invented = together(read_box_file(FOLDER / "parts-at-hand.toml"), "base 0.2")
    assert invented.invented
    assert {"thin copper", "base 0.2"} <= {one.name for one in invented.gaskets}
    assert not together(Box(), "base 0.2").invented
    assert together(Box(), None) == Box()


def test_in_inches_the_search_leaves_no_length_in_millimetres_alone(found: Search) -> None:
    alone = re.compile(r"[0-9] mm(?![\w²³])(?! \([^)]* in\))")
    text = search_text(found, "inch")
    assert "metal, in" in text
    assert alone.search(" ".join(text.split())) is None
    assert alone.search(search_page(found, "inch")) is None
    assert "metal to take off, in" in search_page(found, "inch")


# --- stacks ----------------------------------------------------------------------------------------------------------


def test_stacks_of_the_demonstration_box() -> None:
    record, box, stacks = stacks_of_file(path_of(KART), BOX, ("glass plate",))
    text = "\n".join(stacks_text(stacks, record, box, 3))
    assert f"{len(stacks.found)} of {stacks.tried} stacks" in text
    assert "± " in text
    rows = stack_rows(stacks, record, box, 3)
    assert [row.stack for row in rows] == list(stacks.found[:3])
    base_thinner = rows[0]
    assert base_thinner.timing["exhaust_duration_deg"] < 179.5


def test_where_no_stack_will_do_the_text_says_what_would() -> None:
    record, box, stacks = stacks_of_file(path_of(KART), None, ())
    text = "\n".join(stacks_text(stacks, record, box))
    assert "none of 1 stacks" in text
    assert "would do: " in text


@pytest.mark.parametrize(("low", "high"), [(0.9, 0.5), (0.0, 1.0), (0.5, 9.0)])
def test_a_range_that_is_none_is_refused(low: float, high: float) -> None:
    with pytest.raises(SearchError, match=r"accepted: 0\.05 to 8 mm"):
        stacks_of_file(path_of(KART), BOX, (), low, high)


# --- who limits what -----------------------------------------------------------------------


def test_who_limits_without_a_plan_takes_the_best_of_each_group(monkeypatch: pytest.MonkeyPatch) -> None:
    """By the formula the exhaust roof and the squish pay, and nothing else does."""
    put_in(monkeypatch)
    record, who = who_of_file(path_of(KART), "8000:10000", gaskets="base 0.2, head 0.4", draws=0)
    one = who.of("band_kw")
    by_name = dict(zip(one.groups, one.shares, strict=True))
    assert {"compression", "ports"} <= set(by_name)
    assert min(by_name["compression"], by_name["ports"]) > 0.5
    assert by_name["pipe"] == pytest.approx(0.0)
    assert "raise exhaust roof at exhaust" in who.groups["ports"]
    text = "\n".join(who_text(record, who))
    assert NEVER_PROVED in re.sub(r"\s+", " ", text)


def test_who_limits_against_another_record(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The same engine with its squish set and its spark moved: those two groups, and nothing else."""
    put_in(monkeypatch)
    other = (FOLDER / "club-kart-98-squish-set.toml").read_text().replace("advance_deg = 18.0", "advance_deg = 16.0")
    (tmp_path / "other.toml").write_text(other)
    _, who = who_of_file(path_of(KART), "most", against=tmp_path / "other.toml", draws=0)
    assert "ignition" in who.groups
    assert "compression" in who.groups
    one = who.of("peak_kw")
    assert one.shares.sum() == pytest.approx(one.gain)
    with pytest.raises(SearchError, match="two groups or more"):
        who_of_file(path_of(KART), "most", against=path_of(KART))


def test_who_limits_as_far_as_a_plan_goes(monkeypatch: pytest.MonkeyPatch) -> None:
    put_in(monkeypatch)
    made = read_plan(
        'scribeline_plan = 1\n[[steps]]\ndo = "deck barrel top"\noff_mm = 0.5\n'
        '[[steps]]\ndo = "raise exhaust roof"\nat = "exhaust"\nup_mm = 1.0\n'
    )
    _, who = who_of_file(path_of(KART), "most", made=made, draws=0)
    one = who.of("peak_kw")
    assert dict(zip(one.groups, one.shares, strict=True))["compression"] == pytest.approx(
        1.0
    )  # 0.5 mm of squish, 2 each
    record = read_record_file(path_of(KART))
    assert carry_out(record, made.steps) != record


def test_limits_that_were_switched_off_are_said_and_squish_is_the_builders(found: Search) -> None:
    space = replace(
        found.searched.space, table=LimitTable(set=(OneLimit(name="blowdown_deg", off=True, why="a race"),))
    )
    off = replace(found, searched=replace(found.searched, space=space))
    said = "The limit on blowdown_deg is switched off by the builder: a race."
    for told in (search_text(off), search_page(off), search_json(off)):
        assert said in told
    assert said not in search_text(found)
    table = LimitTable(set=(OneLimit(name="squish_gap_mm", high=0.95),))
    stacks = stacks_of(found.record, Box(), ("file", "glass plate"), table)
    assert stacks is not None
    assert stacks.asked.high_mm == 0.95
