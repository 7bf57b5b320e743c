"""Marking out without a browser: what is typed and ticked goes into the work in hand, and what follows is shown."""

from pathlib import Path
from typing import Any

import pytest
from nicegui import ui
from nicegui.testing import User
from nicegui.testing.user_interaction import UserInteraction

from scribeline.tasks.bench_rest import TAKING
from scribeline.tasks.desk import edit
from scribeline.web.shell import step_url
from scribeline.web.state import State
from tests.web.at_work import at_once, until, with_plan
from tests.web.simulation import simulated

pytestmark = pytest.mark.usefixtures("quick_jobs")

SHEETS, BENCH = (step_url("kart", "mark-out", part=part) for part in ("sheets", "bench"))
FIRST = "1-swap-head-gasket-thin-copper"


@pytest.fixture
def quick_jobs(monkeypatch: pytest.MonkeyPatch) -> None:
    at_once(monkeypatch)


def marking(state: State) -> dict[str, Any]:
    return state.hub.desk("kart").document.get("marking", {})


def on(user: User, element: ui.element) -> UserInteraction[ui.element]:
    """The user at one element."""
    return UserInteraction(user, {element}, None)


def typed(user: User, path: str, text: str) -> None:
    """Type into the field of this place in the work in hand, and leave it."""
    (field,) = (one for one in user.find(kind=ui.input).elements if one.props["data-path"] == f"marking.{path}")
    field.set_value(text)
    on(user, field).trigger("change")


def there(user: User, words: str) -> bool:
    """Whether these words stand on the page now."""
    try:
        return bool(user.find(words).elements)
    except AssertionError:
        return False


def test_a_printer_is_proved_by_what_its_bars_measured(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await user.open(SHEETS)
        await user.should_see("not proved")
        typed(user, "bars.across", "99.6 mm")
        typed(user, "bars.up", "100")
        assert marking(state)["bars"] == {"across": "99.6 mm", "up": "100"}
        await user.should_see("0.40 % larger along the short edge")
        typed(user, "proof.across", "100.1")
        typed(user, "proof.up", "99.9")
        await user.should_see("both bars are right within 0.2 mm")
        await user.should_not_see("not proved")

    simulated(notebook, walk)


def test_a_reading_that_no_printer_gives_is_refused_at_its_field(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await user.open(SHEETS)
        typed(user, "bars.across", "90")
        assert "bars" not in marking(state)
        errors = [one.props.get("error-message", "") for one in user.find(kind=ui.input).elements]
        assert any("accepted: 95 to 105 mm" in str(error) for error in errors)

    simulated(notebook, walk)


def test_sheets_come_with_a_preview_and_the_pdf_is_kept_as_printed(notebook: Path) -> None:
    edit("kart", "marking.sheets", ["squish-card", "head-gasket"], device="t", label="sheets", where=notebook)

    async def walk(user: User, state: State) -> None:
        await user.open(SHEETS)
        await until(lambda: any("data:image/svg+xml" in one.content for one in user.find(kind=ui.html).elements))
        await user.should_see("neither studs nor an outer edge")
        user.find("One PDF to print").click()
        await until(lambda: marking(state).get("printed"))
        (entry,) = marking(state)["printed"]
        assert (entry["pages"], entry["paper"], entry["sheets"]) == (1, "A4", ["head-gasket", "squish-card"])
        assert state.hub.desk("kart").undoable is not None
        assert "sheets printed" in state.hub.desk("kart").undoable.label  # type: ignore[union-attr]
        assert user.download.http_responses[-1].content.startswith(b"%PDF")
        await user.should_see("Taken for printing before: 1")

    simulated(notebook, walk)


def test_without_a_plan_the_bench_says_what_to_do(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await user.open(BENCH)
        await user.should_see("There is no plan yet")
        await user.should_see("Go to Plan")

    simulated(notebook, walk)


def test_the_rest_is_worked_out_from_what_was_measured_and_taken_over(notebook: Path) -> None:
    """Solder 0.10 mm wider than expected at all four places: the barrel's top is cut 0.10 mm more."""

    async def walk(user: User, state: State) -> None:
        desk = state.hub.desk
        plan, record = (desk("kart").document[key] for key in ("plan", "record"))
        await user.open(BENCH)
        await until(lambda: user.find(kind=ui.checkbox).elements)
        for place, gap in enumerate(("1.32", "1.27", "1.23", "1.29")):
            typed(user, f"bench.steps.{FIRST}.at_end.squish/readings/{place}/gap_mm", gap)
        kept = marking(state)["bench"]["steps"][FIRST]["at_end"]
        assert kept["squish/readings/0/gap_mm"] == {"value": 1.32, "typed": "1.32"}
        await user.should_see("Not as expected: 0.10 mm more than 1.220 ± 0.060 mm.")
        boxes = [one for one in user.find(kind=ui.checkbox, content="Done").elements if isinstance(one, ui.checkbox)]
        assert sum(box.enabled for box in boxes) == 1
        next(box for box in boxes if box.enabled).set_value(True)
        assert marking(state)["bench"]["steps"][FIRST]["done_at"]
        buttons = [one for one in user.find(kind=ui.button).elements if one.text == "Work out the rest"]
        on(user, buttons[0]).click()
        await until(lambda: there(user, "Take this as the plan"))
        await user.should_see("deck barrel top: 0.45 mm")
        await user.should_see("stop 28.20, target 27.85 mm")
        user.find("Take this as the plan").click()
        after = desk("kart").document
        assert after["plan"]["steps"][0] == {"do": "deck barrel top", "off_mm": 0.45}
        assert after["record"]["squish"]["readings"][0]["gap_mm"]["value"] == 1.32
        assert after["marking"]["bench"]["steps"] == {}
        assert "swap head gasket" in after["marking"]["bench"]["behind"][0]["done"][0]
        user.find("Undo").click()
        assert (desk("kart").document["plan"], desk("kart").document["record"]) == (plan, record)
        assert marking(state)["bench"]["steps"][FIRST]["done_at"]

    simulated(with_plan(notebook), walk)


@pytest.mark.parametrize("part", [SHEETS, BENCH, BENCH.partition("?")[0]])
def test_a_document_that_is_not_what_it_should_be_is_told_and_the_page_goes_on(notebook: Path, part: str) -> None:
    with_plan(notebook)
    wrong = {
        "paper": 7,
        "bars": "wide",
        "bench": {"steps": {FIRST: "done"}, "behind": {}},
        "printed": [1],
        "sheets": "a",
    }
    edit("kart", "marking", wrong, device="a program", label="wrong", where=notebook)

    async def walk(user: User, state: State) -> None:
        await user.open(part)
        await user.should_see("Part of what was marked out cannot be read")
        await user.should_see(f"marking.bench.steps.{FIRST}: done stands there, a table is meant.")
        await user.should_not_see("This page broke")
        if part == BENCH:
            await until(lambda: there(user, "swap head gasket"))
        user.find("Take it out").click()
        await user.should_not_see("cannot be read")
        assert marking(state) == {"paper": "7", "bench": {"steps": {}}, "printed": []}
        user.find("Undo").click()
        await user.should_see("Part of what was marked out cannot be read")

    simulated(notebook, walk)


def test_a_half_taken_rest_is_told(notebook: Path) -> None:
    with_plan(notebook)
    for number, path in enumerate(("marking.paper", "marking.bolt"), start=1):
        edit("kart", path, "A4", device="t", label=f"{TAKING}, {number} of 3: x", where=notebook)

    async def walk(user: User, state: State) -> None:
        await user.open(BENCH)
        await until(lambda: there(user, "swap head gasket"))
        await user.should_not_see("only half taken back")
        user.find("Undo").click()
        await user.should_see("only half taken back")

    simulated(notebook, walk)


def test_a_step_waits_for_the_one_before_it(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await user.open(BENCH)
        await until(lambda: there(user, "swap head gasket"))
        await user.should_see("comes first")
        late = [box for box in user.find(kind=ui.checkbox).elements if not box.enabled]
        assert len(late) == 9  # steps 2 to 6: five are done, four of them stop before
        late[0].set_value(True)
        assert "bench" not in marking(state)
        assert late[0].value is False

    simulated(with_plan(notebook), walk)
