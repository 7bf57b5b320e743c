"""The history of a build in order of time, and two of its revisions beside each other."""

import re
from html import escape
from pathlib import Path

import pytest

from scribeline.data.cautions import cautions_for
from scribeline.errors import NotebookError, SheetError
from scribeline.marking.bore_view import Bore
from scribeline.marking.drafting import texts
from scribeline.marking.port_outline import PortOutline
from scribeline.marking.svg import write_svg
from scribeline.tasks.desk import edit
from scribeline.tasks.history import ledger_drawing, timeline, timeline_drawing
from scribeline.tasks.history_compare import compare_two, lowered_mm, overlaid
from scribeline.tasks.ledger import leave_out
from scribeline.tasks.ledger_beside import set_beside
from scribeline.tasks.ledger_predicting import keep_prediction
from scribeline.tasks.ledger_text import ledger_text, timeline_text, two_text
from scribeline.tasks.lessons_page import lessons_page_of
from scribeline.tasks.notebook import keep_record
from tests.examples import path_of
from tests.lives import KART, lived


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A cylinder's life: as bought, decked as planned, driven, its roof raised."""
    return lived(tmp_path_factory.mktemp("history"))


def test_events_come_in_order_of_time_and_what_was_done_at_once_is_one(told: Path) -> None:
    found = timeline("KART", where=told)
    assert [one.kind for one in found.events] == [
        "record", "promise", "sheets", "record", "measured", "promise", "promise", "runs", "measured", "lesson", "file",
        "record",
    ]  # fmt: skip
    assert re.fullmatch(r"\d+ numbers predicted \(plan, Plan: squish first\)", found.events[1].words)
    assert found.events[8].words == "25 to 50 km/h (trial saturday, mean of 3 runs)"
    assert [(bar.start, bar.end, bar.fate) for bar in found.bars] == [
        (1, 4, "inside"), (5, 8, "outside"), (6, None, "open"),
    ]  # fmt: skip
    assert found.bars[1].words == "25 to 50 km/h: outside the band"
    assert re.fullmatch(r"(\d+) numbers: \1 of \1 held", found.bars[0].words)


def test_sheets_that_the_page_printed_are_part_of_it(tmp_path: Path) -> None:
    where = tmp_path / "notebook.sqlite"
    keep_record(path_of(KART), build="kart", author="Kim", where=where)
    printed = [
        {"at": "2099-03-01T08:00:00+01:00", "pages": 3, "sheets": ["bore wrap", "cut list"]},
        {"at": "yesterday", "pages": 1, "sheets": []},
        "not a note",
    ]
    edit("kart", "marking.printed", printed, device="bench", label="sheets printed", where=where)
    (_, sheets) = timeline("kart", where=where).events
    assert (sheets.kind, sheets.day, sheets.words) == ("sheets", "1 Mar 2099", "3 pages printed: bore wrap, cut list")
    assert sheets.at.hour == 7


def test_the_history_as_picture_and_text(told: Path) -> None:
    found = timeline("kart", where=told)
    drawing = timeline_drawing(found)
    write_svg(drawing)
    assert {"1", "2", "3"} <= {text.words for text in texts(drawing)}
    for words in ("revision 2, 0.65 mm off the top", "top speed: not measured yet"):
        assert words in drawing.description
    lines = timeline_text(found).splitlines()
    assert len(lines) == 13
    assert lines[1].endswith("revision 1  as bought (Kim)")


def test_predictions_beside_measurements_as_picture_and_text(told: Path) -> None:
    ledger = timeline("kart", where=told).ledger
    drawing = ledger_drawing(ledger)
    write_svg(drawing)
    assert "25 to 50 km/h: predicted 8.20 s (7.60 to 8.80), measured 9.50 ± 0.25 s, outside." in drawing.description
    text = ledger_text(ledger)
    assert "25 to 50 km/h: predicted 8.20 s (7.60 to 8.80), measured 9.50 ± 0.25 s: 1.30 s more" in text
    assert "top speed: predicted 82.0 km/h (76.0 to 88.0), not measured yet" in text
    assert "Too few occasions to conclude anything yet (bands want 6, a factor 4)" in text
    assert "Solder <in> four places first. (Kim)" in text


def test_what_came_off_the_top_is_seen_in_all_ports_alike(told: Path) -> None:
    two = compare_two("kart", 1, 3, where=told)
    drawn = overlaid(two)
    bore = drawn["The bore"]
    assert not isinstance(bore, str)
    assert bore.title == "The bore: revision 1 broken, revision 3 full"
    # All but the exhaust's roof came nearer to the deck by the 0.65 mm that the record says; the roof by 1 mm more.
    assert "Exhaust: roof from 28.45 to 27.45 mm." in bore.description
    assert "the deck in revision 3, 0.65 mm lower than in revision 1" in bore.description
    assert "transfer: roof from" not in bore.description
    assert {one.role for one in bore.groups} >= {"today", "target"}
    section = drawn["Section"]
    assert not isinstance(section, str)
    assert "The squish gap at the wall goes from 1.43 to 0.78 mm." in section.description
    assert drawn["Pipe"] == "The pipe is the same in both."
    said = " ".join([d.title + d.description + " ".join(g.about for g in d.groups) for d in drawn.values()
                     if not isinstance(d, str)])  # fmt: skip
    assert "as it is" not in said
    assert "shall be" not in said


def port(name: str, roof: float, floor: float) -> PortOutline:
    return PortOutline(name, "transfer", 90.0, roof, floor, 20.0)


def bore(*ports: PortOutline) -> Bore:
    return Bore(50.0, ports, 0.6, 50.6)


@pytest.mark.parametrize(
    ("after", "off"),
    [
        ([("a", 36.5, 49.5), ("b", 37.5, 49.5)], 0.5),
        ([("a", 35.0, 49.5), ("b", 37.5, 49.5)], 0.5),  # one roof was filed besides
        ([("a", 36.0, 50.0), ("b", 37.0, 50.0)], 0.0),  # two roofs were filed, the deck was not
        ([("a", 37.0, 50.0), ("b", 38.0, 50.0)], 0.0),
        ([("a", 37.4, 50.4), ("b", 38.4, 50.4)], 0.0),  # a barrel does not grow
        ([("a", 36.5, 49.5), ("b", 38.0, 48.8)], 0.0),  # two edges of four are not most of them
        ([("c", 36.5, 49.5)], 0.0),
    ],
)
def test_how_much_came_off_the_top(after: list[tuple[str, float, float]], off: float) -> None:
    before = bore(port("a", 37.0, 50.0), port("b", 38.0, 50.0))
    assert lowered_mm(before, bore(*(port(*one) for one in after))) == pytest.approx(off)


def test_two_revisions_in_words(told: Path) -> None:
    text = two_text(compare_two("kart", 2, 3, where=told))
    assert text.splitlines()[:2] == [
        "kart: revision 2 beside revision 3",
        "  port exhaust: roof from deck: 28.45 ± 0.10 mm, caliper in the bore -> 27.45 ± 0.10 mm, caliper in the bore "
        "(1 mm less)",
    ]
    assert "exhaust duration: 179.5° -> 184.1°" in text
    assert two_text(compare_two("kart", 2, 2, where=told)).endswith("the two records are identical")
    with pytest.raises(NotebookError, match="has no revision 4"):
        compare_two("kart", 1, 4, where=told)


def test_a_page_for_the_next_builder(told: Path) -> None:
    page = lessons_page_of("kart", where=told)
    assert "Solder &lt;in&gt; four places first." in page
    assert page.count("<svg") == 5  # the line, three drawings of both, predictions
    assert "The bore: revision 1 broken, revision 3 full" in page
    assert all(escape(one.text[1:]) in page for one in cautions_for("cut-plan", "run-test"))
    assert "This page is not to scale. Do not cut metal to it." in page
    assert "default-src 'none'" in page
    assert "http://" not in page.replace("http://www.w3.org", "")
    assert "From revision 1 to revision 3" in page


def test_nothing_is_drawn_of_nothing(tmp_path: Path) -> None:
    where = tmp_path / "notebook.sqlite"
    keep_record(path_of(KART), build="kart", author="Kim", where=where)
    found = timeline("kart", where=where)
    assert len(found.events) == 1
    with pytest.raises(SheetError, match="no prediction is kept yet"):
        ledger_drawing(found.ledger)
    number = keep_prediction("kart", "top speed", 82.0, 76.0, 88.0, "km/h", where=where).number
    set_beside("kart", number, 85.0, 2.0, where=where)
    leave_out("kart", number, "the wrong kart", where=where)
    assert timeline("kart", where=where).bars[0].fate == "left out"
    assert "left out: the wrong kart" in ledger_text(timeline("kart", where=where).ledger)
    assert "<h2>From" not in lessons_page_of("kart", where=where)
