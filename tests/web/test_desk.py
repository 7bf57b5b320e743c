"""The work in hand as open pages see it: who hears of an edit, and when one is a conflict."""

import asyncio
import gc
import weakref
from pathlib import Path

from scribeline.errors import EditConflict
from scribeline.notebook import open_notebook
from scribeline.tasks.desk import edit
from scribeline.web.desk import Hub, OpenDesk, at
from tests.web.simulation import run_apart

BORE = "record.cylinder.bore_mm"


def test_every_open_page_hears_of_an_edit(notebook: Path) -> None:
    with open_notebook(notebook) as opened:
        hub = Hub(opened)
        one, other = OpenDesk(hub, "kart", "bench"), OpenDesk(hub, "kart", "phone")
        heard: list[str] = []
        other.on_change(heard.extend)
        assert one.edit(BORE, 50.5, "bore 50.5 mm")
        assert heard == [BORE]
        assert other.get(BORE) == 50.5
        one.undo()
        assert heard == [BORE, BORE]
        assert other.get(BORE) != 50.5


def test_a_page_that_was_left_hears_nothing(notebook: Path) -> None:
    with open_notebook(notebook) as opened:
        hub = Hub(opened)
        one, other = OpenDesk(hub, "kart", "bench"), OpenDesk(hub, "kart", "phone")
        heard: list[str] = []
        other.on_change(heard.extend)
        other.close()
        one.edit(BORE, 50.5, "bore 50.5 mm")
        assert heard == []


class Card:
    is_deleted = False


def test_what_was_taken_off_a_page_hears_nothing_and_is_let_go_of(notebook: Path) -> None:
    with open_notebook(notebook) as opened:
        page = OpenDesk(Hub(opened), "kart", "bench")
        first, last, heard = Card(), Card(), []
        page.on_change(lambda _: (heard.append("first"), setattr(last, "is_deleted", True)), of=first)
        page.on_change(lambda _: heard.append("last"), of=last)
        assert page.edit(BORE, 50.5, "bore 50.5 mm")
        assert heard == ["first"], "one that took another away while all of them were told"
        first.is_deleted = True
        held = weakref.ref(first)
        del first
        assert page.edit(BORE, 50.6, "bore 50.6 mm")
        assert heard == ["first"]
        gc.collect()
        assert held() is None, "a page that stands open for days would hold every card it ever showed"


def test_several_places_are_one_step_for_every_page_and_one_undo(notebook: Path) -> None:
    with open_notebook(notebook) as opened:
        hub = Hub(opened)
        one, other = OpenDesk(hub, "kart", "bench"), OpenDesk(hub, "kart", "phone")
        heard: list[list[str]] = []
        other.on_change(lambda paths: heard.append(list(paths)))
        before = one.desk.document
        assert one.edit_all({BORE: 50.5, "plan.goal": "most"}, "both")
        assert one.edit_all({BORE: 50.6, "plan.goal": "least"}, "both again"), "its own step is no news to it"
        one.undo()
        one.undo()
        assert heard == [[BORE, "plan"], [BORE, "plan.goal"], ["plan.goal", BORE], ["plan", BORE]]
        assert other.desk.document == before


class Asleep:
    """A browser that does not confirm what it was sent until it is woken."""

    def __init__(self) -> None:
        self.awake = asyncio.Event()

    async def acknowledge(self) -> None:
        await self.awake.wait()


def test_what_a_sleeping_phone_types_over_another_edit_is_a_conflict_and_keeps_the_other(notebook: Path) -> None:
    async def walk() -> None:
        with open_notebook(notebook) as opened:
            hub, asleep = Hub(opened), Asleep()
            bench, phone = OpenDesk(hub, "kart", "bench"), OpenDesk(hub, "kart", "phone", asleep.acknowledge)
            conflicts: list[EditConflict] = []
            insist = []
            phone.on_conflict = lambda conflict, again: (conflicts.append(conflict), insist.append(again))[0]
            bench.edit(BORE, 50.5, "bore 50.5 mm")
            assert not phone.edit(BORE, 50.9, "bore 50.9 mm")
            assert bench.get(BORE) == 50.5
            assert (conflicts[0].theirs, conflicts[0].yours, conflicts[0].device) == (50.5, 50.9, "bench")
            assert phone.edit("record.crank.stroke_mm", 40.0, "stroke 40 mm"), "another place is no conflict"
            insist[0]()
            assert bench.get(BORE) == 50.9
            phone.close()

    run_apart(walk)


def test_a_step_of_which_one_place_was_changed_unseen_is_a_conflict_as_a_whole(notebook: Path) -> None:
    async def walk() -> None:
        with open_notebook(notebook) as opened:
            hub, asleep = Hub(opened), Asleep()
            bench, phone = OpenDesk(hub, "kart", "bench"), OpenDesk(hub, "kart", "phone", asleep.acknowledge)
            told: list[EditConflict] = []
            insist = []
            phone.on_conflict = lambda conflict, again: (told.append(conflict), insist.append(again))[0]
            bench.edit(BORE, 50.5, "bore 50.5 mm")
            assert not phone.edit_all({"plan.goal": "most", BORE: 50.9}, "both")
            assert (told[0].path, told[0].wanted, bench.get("plan")) == (BORE, "both", None)
            insist[0]()
            assert (bench.get(BORE), bench.get("plan.goal")) == (50.9, "most")
            phone.close()

    run_apart(walk)


def test_once_it_has_shown_the_other_edit_it_may_type_over_it(notebook: Path) -> None:
    async def walk() -> None:
        with open_notebook(notebook) as opened:
            hub, asleep = Hub(opened), Asleep()
            bench, phone = OpenDesk(hub, "kart", "bench"), OpenDesk(hub, "kart", "phone", asleep.acknowledge)
            bench.edit(BORE, 50.5, "bore 50.5 mm")
            asleep.awake.set()
            await asyncio.sleep(0.05)
            assert phone.edit(BORE, 50.9, "bore 50.9 mm")

    run_apart(walk)


def test_an_edit_that_came_by_another_way_is_noticed(notebook: Path) -> None:
    async def walk() -> None:
        with open_notebook(notebook) as opened:
            hub = Hub(opened)
            page = OpenDesk(hub, "kart", "bench")
            heard: list[str] = []
            page.on_change(heard.extend)
            watching = asyncio.create_task(hub.watch(every_s=0.05))
            before = page.get(BORE)
            edit("kart", BORE, 50.7, before=before, device="another server", label="bore 50.7 mm", where=notebook)
            for _ in range(100):
                if heard:
                    break
                await asyncio.sleep(0.05)
            watching.cancel()
            assert heard == [BORE]
            assert page.get(BORE) == 50.7

    run_apart(walk)


def test_a_place_that_is_not_there_holds_nothing() -> None:
    assert at({"ports": [1]}, "ports.1") is None
    assert at({"ports": [1]}, "ports.0.name") is None
    assert at({"ports": [1]}, "") == {"ports": [1]}
