"""Sheets as the page orders them: wishes out of the work in hand, previews that say what they are, files to take."""

import io
import zipfile
from pathlib import Path
from typing import Any

import ezdxf
import pytest

from scribeline.errors import SheetError
from scribeline.tasks.sheet_drawings import SHEETS
from scribeline.tasks.sheet_order import (
    WISHES,
    Order,
    as_pdf,
    as_zip,
    order_of,
    order_to_take,
    preview,
    printed_entry,
    wish_shown,
    wish_typed,
    wishes_of,
)
from tests.marking.printed import on_paper
from tests.tasks.at_hand import document

DAY = "2026-11-26"


def order(**marking: Any) -> Order:
    return order_to_take(document(**marking), DAY)


def test_what_was_typed_becomes_wishes() -> None:
    wishes = wishes_of(
        {
            "paper": "a3", "thickness": "0,12 mm", "sleeve": "2.3 in", "windows": True, "wheels": "100 200",
            "bolt": "12", "turns": "anticlockwise", "metal": "0.8", "stock": "600x400",
            "bars": {"across": "99", "up": "100"},
        }
    )  # fmt: skip
    assert (wishes.paper, wishes.sheet_mm, wishes.windows, wishes.turns) == ("A3", 0.12, True, "anticlockwise")
    assert wishes.sleeve_mm == pytest.approx(58.42)  # 2.3 x 25.4
    assert (wishes.wheels_mm, wishes.bolt_mm) == ((100.0, 200.0), 12.0)
    assert wishes.pipe.metal.thickness_mm == 0.8
    assert wishes.printer.across_mm == 99.0


@pytest.mark.parametrize(
    "marking",
    [{"paper": "A5"}, {"thickness": "3"}, {"thickness": "thin"}, {"wheels": "12"}, {"metal": "9"}, {"stock": "big"}],
)
def test_a_wish_that_cannot_be_is_refused_with_what_to_do(marking: dict[str, Any]) -> None:
    with pytest.raises(SheetError, match="what to do"):
        wishes_of(marking)


def test_every_preview_says_that_it_is_not_to_scale_and_what_cannot_be_made_says_why() -> None:
    ordered = order()
    for name in ("bore-wrap", "cut-list", "squish-card"):
        seen = preview(ordered, name)
        assert seen.pictures
        assert all(picture.count("NOT TO SCALE") == 1 for picture in seen.pictures)
    assert len(preview(ordered, "cut-list").pictures) == 3
    lacking = preview(ordered, "head-gasket")
    assert lacking.pictures == ()
    assert "measure the old gasket" in lacking.left_out


def test_one_pdf_holds_every_chosen_sheet_at_full_size_with_the_correction_in_it(tmp_path: Path) -> None:
    made = as_pdf(order(sheets=["bore-wrap", "cut-list"], bars={"across": "99", "up": "101"}))
    assert made.name.startswith("club-kart-98-sheets-")
    assert made.name.endswith(".pdf")
    printed = on_paper(made.data, tmp_path, dpi=100)
    assert len(printed) == made.pages == 4  # one wrap, three pages of list
    assert b"NOT TO SCALE" not in made.data


def test_a_zip_of_dxf_holds_closed_drawings_in_mm_and_no_lists() -> None:
    made = as_zip(order(sheets=["bore-wrap", "cut-list", "degree-wheel"]), "dxf")
    with zipfile.ZipFile(io.BytesIO(made.data)) as archive:
        assert archive.namelist() == ["bore-wrap.dxf", "degree-wheel-120.dxf", "degree-wheel-160.dxf"]
        drawing = ezdxf.read(io.StringIO(archive.read("bore-wrap.dxf").decode()))
    assert drawing.units == ezdxf.units.MM
    with pytest.raises(SheetError, match="none of these sheets has a DXF"):
        as_zip(order(sheets=["cut-list"]), "dxf")


def test_no_sheet_chosen_is_refused_and_a_preview_does_not_ask_which_are() -> None:
    with pytest.raises(SheetError, match="tick the sheets you need"):
        order(sheets=[])
    assert order_of(document(sheets=[]), DAY) == order_of(document(), DAY) == order()


def test_nothing_that_can_be_made_is_refused_and_a_part_is_told() -> None:
    with pytest.raises(SheetError, match="head-gasket"):
        as_pdf(order(sheets=["head-gasket"]))
    made = as_pdf(order(sheets=["head-gasket", "squish-card"]))
    assert made.pages == 1
    assert made.left_out[0].startswith("head-gasket: ")


def test_equal_work_is_the_same_order_and_other_work_is_another() -> None:
    assert order().key == order().key
    assert order(paper="A3").key != order().key
    work = document()
    work["record"]["cylinder"]["bore_mm"]["value"] = 50.02
    assert order_of(work, DAY).revision.partition(" + ")[0] != order().revision.partition(" + ")[0]
    assert order_of(work, DAY).revision.partition(" + ")[2] == order().revision.partition(" + ")[2]


def test_the_usual_paper_of_a_device_is_taken_until_somebody_chooses() -> None:
    assert order_of(document(), DAY, "Letter").wishes.paper == "Letter"
    assert order_of(document(paper="A3"), DAY, "Letter").wishes.paper == "A3"
    assert order_of(document(), DAY, "papyrus").wishes.paper == "A4"


def test_a_plan_is_not_needed() -> None:
    work = document(sheets=["bore-wrap"])
    work["plan"] = {}
    assert "plan" not in order_of(work, DAY).revision
    assert as_pdf(order_to_take(work, DAY)).pages == 1


def test_what_was_printed_is_kept_with_its_revision() -> None:
    ordered = order(sheets=["squish-card"])
    entry = printed_entry(ordered, as_pdf(ordered), "2026-11-26T10:00:00+00:00")
    assert (entry["revision"], entry["sheets"], entry["pages"]) == (ordered.revision, ["squish-card"], 1)
    assert set(printed_entry(order(), as_pdf(ordered), "x")["sheets"]) == set(SHEETS)


# --- in inches --------------------------------------------------------------------------------------------------------


def test_sheets_are_in_what_the_device_reads_until_somebody_chooses_for_them() -> None:
    assert order().wishes.units == "mm"
    assert order_to_take(document(), DAY, "A4", "inch").wishes.units == "inch"
    chosen = order_to_take(document(units="mm"), DAY, "A4", "inch")
    assert chosen.wishes.units == "mm"
    assert chosen.key != order_to_take(document(), DAY, "A4", "inch").key


@pytest.mark.parametrize(
    ("key", "typed", "kept", "name", "mm"),
    [
        ("thickness", "0.004", "0.004 in", "sheet_mm", 0.1016),
        ("wheels", "4.5 6", "4.5 6 in", "wheels_mm", (114.3, 152.4)),
        ("wheels", "120 160 mm", "120 160 mm", "wheels_mm", (120.0, 160.0)),
        ("bolt", "10 mm", "10 mm", "bolt_mm", 10.0),
        ("stock", "40x20", "40x20 in", "pipe", None),
    ],
)
def test_a_wish_typed_in_inches_is_kept_with_its_unit(key: str, typed: str, kept: str, name: str, mm: object) -> None:
    """Lengths by 25.4 mm to the inch (yard-and-pound-1959)."""
    assert wish_typed(key, typed, "inch") == kept
    wishes = wishes_of({key: kept})
    if mm is None:
        assert (wishes.pipe.stock.wide_mm, wishes.pipe.stock.high_mm) == pytest.approx((1016.0, 508.0))
    else:
        assert getattr(wishes, name) == pytest.approx(mm)


def test_a_wish_typed_in_mm_says_so_where_inches_are_read() -> None:
    assert [wish_shown("0.1", units) for units in ("mm", "inch")] == ["0.1", "0.1 mm"]
    assert wish_shown("0.004 in", "mm") == "0.004 in"
    for key, _, usual in WISHES:
        if usual["inch"] != "none":
            one, other = (wishes_of({key: wish_typed(key, usual[units], units)}) for units in ("mm", "inch"))
            for name in ("sheet_mm", "bolt_mm", "wheels_mm"):
                assert getattr(other, name) == pytest.approx(getattr(one, name), abs=0.02), key
