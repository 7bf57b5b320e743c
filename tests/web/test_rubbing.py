"""A rubbing on its page without a browser: outlines come in as events, ports go into the record as single edits."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from nicegui import ui
from nicegui.testing import User

from scribeline.tasks.desk import edit
from scribeline.tasks.rubbing_review import Review
from scribeline.web.pages import rubbing as page
from scribeline.web.shell import step_url
from scribeline.web.state import State
from tests.tasks.test_rubbing_review import opening
from tests.web.simulation import simulated

URL = step_url("kart", "measure/rubbing")
STRANGER = replace(opening(""), number=2, clock_deg=300.0)
SEEN = Review("", "", (1, 1), (), (), "data:,", (-78.0, 1.0, 78.0, 84.0), 0.05, (opening(), STRANGER))


@pytest.fixture
def seen(monkeypatch: pytest.MonkeyPatch, notebook: Path) -> Path:
    """A notebook with a photograph in hand that was looked at already."""
    edit("kart", "rubbing", {"photo": "0" * 64, "name": "p.jpg"}, device="t", label="photograph", where=notebook)

    class Known(dict[Any, Review]):
        def get(self, key: Any, otherwise: Any = None) -> Review:
            return SEEN

        def popitem(self, last: bool = True) -> Any:
            raise AssertionError

    monkeypatch.setattr(page, "_KEPT", Known())
    return notebook


def document(state: State) -> dict[str, Any]:
    return state.hub.desk("kart").document


def moved(user: User, edges: list[float]) -> None:
    """As the browser tells it when an outline is let go."""
    told = {"number": 1, "kind": "rounded rectangle", "edges": edges}
    client = user.client
    assert client is not None
    (listener,) = (one for one in client.layout._event_listeners.values() if one.type == "outline_moved")
    client.layout._handle_event({"listener_id": listener.id, "args": told})


def test_a_moved_outline_is_kept_and_its_port_is_one_edit_of_the_record(seen: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await user.open(URL)
        await user.should_see("they do not agree, stays as it is")
        edges = list(opening().shape.edges)
        edges[0] -= 0.5
        with user:
            moved(user, edges)
        kept = document(state)["rubbing"]["moved"]["opening-1"]["edges"]
        assert kept[0] == pytest.approx(edges[0], abs=1e-3)
        await user.should_see("Back to what was found")
        before = state.hub.desk("kart").number
        user.find("Take exhaust into the record").click()
        assert state.hub.desk("kart").number == before + 1
        port = document(state)["record"]["ports"][0]
        assert port["width_arc_mm"]["value"] == pytest.approx(edges[1] - edges[0], abs=0.006)
        assert port["roof_from_deck_mm"]["value"] == 29.1  # the caliper's stays
        await user.should_see("In the record")

    simulated(seen, walk)


def test_an_outline_turned_inside_out_is_refused_and_nothing_is_kept(seen: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await user.open(URL)
        await user.should_see("exhaust: opening 1")
        with user:
            moved(user, [5.0, 4.0, 20.0, 30.0, 1.0, 1.0])
        assert "moved" not in document(state)["rubbing"]
        await user.should_see("take the last change back")

    simulated(seen, walk)


def test_a_stranger_is_named_and_taken(seen: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await user.open(URL)
        await user.should_see("Opening 2, at 300°: no port of the record")
        (name,) = (one for one in user.find(kind=ui.input).elements if one.props["label"] == "Name")
        name.set_value("boost")
        (role,) = user.find(kind=ui.select).elements
        role.set_value("boost")
        user.find("Name it").click()
        assert document(state)["rubbing"]["names"] == {"opening-2": {"name": "boost", "role": "boost"}}
        user.find("Take boost into the record").click()
        assert document(state)["record"]["ports"][4]["role"] == "boost"

    simulated(seen, walk)


def test_without_a_photograph_the_page_says_how_to_make_one(notebook: Path) -> None:
    async def walk(user: User, state: State) -> None:
        await user.open(URL)
        await user.should_see("No photograph yet.")
        await user.should_see("Print the rubbing wrap")

    simulated(notebook, walk)
