"""The demonstration cylinder: every step of the job finds something in its story, and all of it is marked invented."""

from pathlib import Path

import pytest

from scribeline.engine import read_record
from scribeline.plan.plan_file import read_plan_file
from scribeline.tasks.cylinders import begin_demonstration, cylinders
from scribeline.tasks.demonstration import demonstration, invented
from scribeline.tasks.desk import desk_of
from scribeline.tasks.history import timeline
from scribeline.tasks.notebook import show_build, show_revision
from scribeline.tasks.plan_in_hand import plan_in_hand, record_in_hand


@pytest.fixture(scope="module")
def where(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("demonstration") / "notebook.sqlite"
    begin_demonstration(author="kim", where=path)
    return path


def test_all_of_it_is_invented(where: Path) -> None:
    assert read_record(demonstration().read_text()).invented
    assert read_plan_file(invented("club-kart-98-plan.toml")).invented
    assert "INVENTED" in invented("gate-times.csv").read_text()
    build = show_build("Club kart 98", where=where)
    assert "Invented" in build.build.note
    assert all(
        read_record(show_revision("Club kart 98", one.number, where=where)[0].record_toml).invented
        for one in build.revisions
    )


def test_it_is_taken_once(where: Path) -> None:
    assert begin_demonstration(author="kim", where=where).build == "Club kart 98"
    assert [one.name for one in cylinders(where=where)] == ["Club kart 98"]
    assert len(show_build("Club kart 98", where=where).revisions) == 2


def test_every_step_finds_something_in_it(where: Path) -> None:
    told = timeline("Club kart 98", where=where)
    assert [one.kind for one in told.events] == [
        "record", "promise", "sheets", "record", "measured", "promise", "promise", "runs", "measured", "lesson",
    ]  # fmt: skip
    held = [one.beside.held for one in told.ledger.promises if one.beside is not None]
    assert any(held)
    assert not all(held)
    document = desk_of("Club kart 98", where=where).document
    plan = plan_in_hand(record_in_hand(document["record"], "Club kart 98"), document["plan"])
    assert plan.steps
    assert all(not one.problems for one in plan.steps)
