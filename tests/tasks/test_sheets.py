"""Sheets of the demonstration engines: which are made, what they say, and that nothing of anybody's is lost."""

import doctest
import io
import json
import math
import re
from datetime import date
from pathlib import Path

import ezdxf
import pytest

from scribeline.data.cautions import cautions_for
from scribeline.engine import read_record_file
from scribeline.errors import PlanError, RecordError, SheetError
from scribeline.marking.drafting import bounds
from scribeline.marking.page import pages
from scribeline.marking.paper import PAPERS
from scribeline.marking.printer import Printer
from scribeline.marking.shapes import Circle, Text
from scribeline.marking.sheet import Sheet
from scribeline.plan.plan_file import read_plan_file
from scribeline.tasks import sheet_wishes, sheets
from scribeline.tasks.sheet_drawings import SHEETS, sheets_of
from scribeline.tasks.sheet_files import LIST
from scribeline.tasks.sheet_wishes import Wishes, Worked, formats_of, worked_for
from scribeline.tasks.sheets import write_sheets

EXAMPLES = Path(__file__).parents[2] / "examples"
KART, PLAN, REED = (EXAMPLES / name for name in ("club-kart-98.toml", "club-kart-98-plan.toml", "reed-125.toml"))
DAY = date(2026, 11, 25)


@pytest.fixture(scope="module")
def planned() -> Worked:
    return worked_for(read_record_file(KART), read_plan_file(PLAN))


@pytest.fixture(scope="module")
def made(planned: Worked) -> dict[str, Sheet]:
    found, _ = sheets_of(planned, Wishes(), PAPERS["A4"])
    return {sheet.name: sheet for sheet in found}


def words(sheet: Sheet) -> list[str]:
    return [shape.words for one in sheet.drawing.groups for shape in one.shapes if isinstance(shape, Text)]


@pytest.mark.parametrize("module", [sheets, sheet_wishes])
def test_examples_in_the_docstrings(module: object) -> None:
    assert doctest.testmod(module).failed == 0  # type: ignore[arg-type]


# --- what is made ---------------------------------------------------------------------------------------------------


def test_every_sheet_of_the_demonstrations_is_made(made: dict[str, Sheet]) -> None:
    """The kart's record has no studs, so that its gaskets are left out; the other engine has them and no plan."""
    found, left_out = sheets_of(worked_for(read_record_file(REED)), Wishes(), PAPERS["A4"])
    kart, reed = (
        {"pipe" if name.startswith("pipe-") else re.sub(r"-\d+$", "", name) for name in names}  # a book of many sheets
        for names in (made, {one.name for one in found})
    )
    assert kart == set(SHEETS) - {"head-gasket", "base-gasket"}
    assert reed == set(SHEETS) - {"cut-list"}
    assert [one.name for one in left_out] == ["cut-list"]


def test_without_a_plan_there_is_no_cut_list_and_the_reason_is_given(tmp_path: Path) -> None:
    written = write_sheets(REED, tmp_path, on=DAY)
    assert {one.name: one.why.splitlines()[0] for one in written.left_out}["cut-list"] == (
        "there is no cut list without a plan"
    )
    assert (tmp_path / "bore-wrap.pdf").exists()
    assert not (tmp_path / "cut-list.pdf").exists()


def test_a_sheet_that_was_asked_for_by_name_and_cannot_be_made_is_a_refusal(tmp_path: Path) -> None:
    with pytest.raises(SheetError, match="without a plan"):
        write_sheets(KART, tmp_path / "out", Wishes(only=("cut-list", "bore-wrap")), on=DAY)
    assert not (tmp_path / "out").exists()
    with pytest.raises(SheetError, match="no such sheet: bore-rap"):
        write_sheets(KART, tmp_path / "out", Wishes(only=("bore-rap",)), on=DAY)


def test_the_wrap_shows_ports_from_the_deck_they_will_be_marked_from(made: dict[str, Sheet], planned: Worked) -> None:
    """The plan takes 0.35 mm off the deck: the roof that stands 29.1 mm below it now will then stand 28.75 below."""
    wrap = made["bore-wrap"]
    assert "0.35 mm taken off" in wrap.datum
    today = next(one for one in wrap.drawing.groups if one.about == "exhaust, as it is")
    target = next(one for one in wrap.drawing.groups if one.about == "exhaust, target")
    stop = next(one for one in wrap.drawing.groups if one.about == "exhaust, stop line")
    tops = [max(y for _, y in one.shapes[0].points) for one in (today, stop, target)]  # type: ignore[union-attr]
    assert tops[0] == pytest.approx(-28.75, abs=1e-6)
    assert tops[2] == pytest.approx(-27.95, abs=1e-6)
    assert planned.cut is not None
    (line,) = [one for step in planned.cut.steps for one in step.lines if one.port == "exhaust"]
    assert tops[1] == pytest.approx(-line.stop_mm, abs=1e-9)  # the wrap and the cut list say the same


def test_the_sides_of_the_stop_line_are_those_of_the_cut_list(tmp_path: Path) -> None:
    """A caliper measures straight across, the wrap lies along the bore: the stop is the caliper's, bent round."""
    plan = tmp_path / "plan.toml"
    plan.write_text('scribeline_plan = 1\n[[steps]]\ndo = "widen exhaust"\nat = "exhaust"\nwider_mm = 2.0\n')
    worked = worked_for(read_record_file(KART), read_plan_file(plan))
    (wrap,), _ = sheets_of(worked, Wishes(only=("bore-wrap",), sheet_mm=0.0), PAPERS["A4"])
    stop = next(one for one in wrap.drawing.groups if one.about == "exhaust, stop line")
    assert worked.cut is not None
    (width,) = worked.cut.steps[0].widths
    assert bounds([stop]).width == pytest.approx(50.0 * math.asin(width.stop_chord_mm / 50.0), abs=1e-9)


def test_the_cut_list_has_heights_degrees_and_every_caution(made: dict[str, Sheet], planned: Worked) -> None:
    said = [one for name, sheet in made.items() if name.startswith("cut-list") for one in words(sheet)]
    for one in ("28.75", "27.95", "exhaust, roof", "main transfer (2 x), roof"):
        assert one in said
    assert any(re.fullmatch(r"9\d\.\d° to 8\d\.\d°", one) for one in said)
    joined = re.sub(r"\s+", " ", " ".join(said))
    for caution in cautions_for("cut-plan"):
        assert caution.text in joined
    assert "do not cut on: write the engine as it is into a new record" in joined
    assert "Expect exhaust: floor corner radius: 3.00 ± 0.36 mm" in joined
    titles = [one for one in said if re.match(r"\d+  ", one)]
    assert planned.cut is not None
    assert titles == [f"{step.number}  {step.title}" for step in planned.cut.steps]


@pytest.mark.parametrize("name", PAPERS)
def test_every_sheet_fits_every_paper(planned: Worked, name: str) -> None:
    """Nothing of a sheet on one page is cut off, and what must stay whole is. A pipe's patterns are tiled, not here."""
    found, _ = sheets_of(planned, Wishes(), PAPERS[name])
    found = [sheet for sheet in found if sheet.book != "pipe"]
    issue = sheets.issue_of(planned.out.record, KART, PLAN, DAY)
    for sheet in found:
        made = pages(sheet, issue, PAPERS[name])
        assert len(made) == 1, sheet.name
        box, window, (x, y) = bounds(sheet.drawing.groups), made[0].window, made[0].shift
        assert window.left <= box.left + x + 1e-6
        assert box.right + x <= window.right + 1e-6
        assert window.bottom <= box.bottom + y + 1e-6
        assert box.top + y <= window.top + 1e-6


def test_a_limit_that_was_switched_off_is_said_on_every_sheet(tmp_path: Path) -> None:
    plan = tmp_path / "plan.toml"
    limit = 'set = [{ name = "squish_gap_min_mm", off = true, why = "for the test" }]'
    plan.write_text(f'scribeline_plan = 1\n[[steps]]\ndo = "deck barrel top"\noff_mm = 0.2\n[limits]\n{limit}\n')
    worked = worked_for(read_record_file(KART), read_plan_file(plan))
    found, _ = sheets_of(worked, Wishes(), PAPERS["A4"])
    assert found
    for sheet in found:
        assert any("squish_gap_min_mm is switched off" in one for one in sheet.statements), sheet.name


def test_gaskets_are_drawn_from_studs_and_faces() -> None:
    record = read_record_file(REED)
    assert record.head.studs is not None
    found, _ = sheets_of(worked_for(record), Wishes(only=("head-gasket", "base-gasket")), PAPERS["A4"])
    assert [sheet.name for sheet in found] == ["head-gasket", "base-gasket"]
    assert any("passages are not in the record" in one for one in words(found[1]))
    cut = next(one for one in found[0].drawing.groups if one.about.startswith("bore and"))
    holes = [2 * shape.radius_mm for shape in cut.shapes if isinstance(shape, Circle)]
    assert holes[1:] == [record.head.studs.hole_diameter_mm.value] * len(record.head.studs.clock_deg)


def test_every_template_carries_its_cautions_and_only_full_size_counts_as_one(made: dict[str, Sheet]) -> None:
    for sheet in made.values():
        assert "template" in sheet.cautions
        to_read = ("head-profile-enlarged", "pipe-assembly", "pipe-list", "pipe-stock-1-overview")
        assert sheet.template == (sheet.name not in to_read)


# --- files ----------------------------------------------------------------------------------------------------------


def test_files_are_named_plainly_and_the_dxf_can_be_read(tmp_path: Path) -> None:
    wishes = Wishes(formats=("pdf", "svg", "dxf"), only=("bore-wrap", "squish-card", "head-profile-enlarged"))
    written = write_sheets(KART, tmp_path, wishes, on=DAY)
    assert sorted(path.name for path in written.files) == [
        "bore-wrap.dxf", "bore-wrap.pdf", "bore-wrap.svg", "head-profile-enlarged.pdf", "head-profile-enlarged.svg",
        "squish-card.pdf", "squish-card.svg",
    ]  # fmt: skip
    document = ezdxf.read(io.StringIO((tmp_path / "bore-wrap.dxf").read_text(encoding="utf-8")))
    assert document.header["$INSUNITS"] == 4


def test_the_same_record_on_the_same_day_gives_the_same_files(tmp_path: Path) -> None:
    wishes = Wishes(formats=("pdf", "svg", "dxf"))
    one, two = (write_sheets(KART, tmp_path / name, wishes, plan=PLAN, on=DAY) for name in ("one", "two"))
    assert [path.read_bytes() for path in one.files] == [path.read_bytes() for path in two.files]


def test_sheets_are_written_over_sheets(tmp_path: Path) -> None:
    wishes = Wishes(only=("squish-card",))
    write_sheets(KART, tmp_path, wishes, on=DAY)
    before = (tmp_path / "squish-card.pdf").read_bytes()
    write_sheets(KART, tmp_path, Wishes(only=("squish-card",), printer=Printer(98.7)), on=DAY)
    assert (tmp_path / "squish-card.pdf").read_bytes() != before


@pytest.mark.parametrize("changed", [False, True], ids=["somebody's own", "one of ours that was changed"])
def test_what_is_not_ours_is_never_written_over(tmp_path: Path, changed: bool) -> None:
    wishes = Wishes(only=("squish-card", "bore-wrap"))
    if changed:
        write_sheets(KART, tmp_path, wishes, on=DAY)
        (tmp_path / "bore-wrap.pdf").unlink()
    (tmp_path / "squish-card.pdf").write_text("mine")
    with pytest.raises(SheetError, match=r"squish-card\.pdf stands there"):
        write_sheets(KART, tmp_path, wishes, on=DAY)
    assert (tmp_path / "squish-card.pdf").read_text() == "mine"
    assert not (tmp_path / "bore-wrap.pdf").exists()  # all or nothing


def test_a_list_that_cannot_be_read_protects_everything(tmp_path: Path) -> None:
    wishes = Wishes(only=("squish-card",))
    write_sheets(KART, tmp_path, wishes, on=DAY)
    assert set(json.loads((tmp_path / LIST).read_text())) == {"squish-card.pdf"}
    (tmp_path / LIST).write_text("{")
    with pytest.raises(SheetError, match="stands there"):
        write_sheets(KART, tmp_path, wishes, on=DAY)


def test_a_folder_that_refuses_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(SheetError, match="a folder you may write to"):
        write_sheets(KART, tmp_path / "file" / "folder", Wishes(only=("squish-card",)), on=DAY)


def test_the_revision_follows_the_files(tmp_path: Path) -> None:
    record = read_record_file(KART)
    copy = tmp_path / "copy.toml"
    copy.write_bytes(KART.read_bytes())
    same, other = sheets.issue_of(record, KART, None, DAY), sheets.issue_of(record, copy, None, DAY)
    assert same == other
    assert same.date == "2026-11-25"
    copy.write_text(KART.read_text() + "\n# changed\n")
    assert sheets.issue_of(record, copy, None, DAY).revision != same.revision
    assert "plan" in sheets.issue_of(record, KART, PLAN, DAY).revision


# --- refusals -------------------------------------------------------------------------------------------------------


def test_refused_files_stay_refusals_of_their_own(tmp_path: Path) -> None:
    with pytest.raises(RecordError):
        write_sheets(EXAMPLES / "careless.toml", tmp_path / "out", on=DAY)
    plan = tmp_path / "plan.toml"
    plan.write_text('scribeline_plan = 1\n[[steps]]\ndo = "raise exhaust roof"\nat = "exhaust"\nup_mm = -1.0\n')
    with pytest.raises(PlanError):
        write_sheets(KART, tmp_path / "out", plan=plan, on=DAY)
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("typed", ["", "pdf,jpeg", "ps"])
def test_formats_that_are_not_written_are_refused(typed: str) -> None:
    with pytest.raises(SheetError, match="pdf, svg, dxf"):
        formats_of(typed)


# --- in inches --------------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def in_inches(planned: Worked) -> dict[str, Sheet]:
    found, _ = sheets_of(planned, Wishes(units="inch"), PAPERS["A4"])
    return {sheet.name: sheet for sheet in found}


def test_the_lines_to_cut_to_do_not_depend_on_what_they_are_written_in(
    made: dict[str, Sheet], in_inches: dict[str, Sheet]
) -> None:
    """Metal is cut to these: every outline is the same to the last digit."""
    assert list(made) == list(in_inches)
    for name, sheet in made.items():
        for role in ("today", "stop", "target", "cut", "bend"):
            one, other = (
                [each.shapes for each in some.drawing.groups if each.role == role and each.about]
                for some in (sheet, in_inches[name])
            )
            assert one == other, (name, role)
        assert sheet.scale == in_inches[name].scale


def test_no_sheet_in_inches_says_a_length_in_mm_alone(in_inches: dict[str, Sheet]) -> None:
    alone = re.compile(r"[\d.]+ mm(?![²³]| bar| \()|\bin mm\b|, mm\b")
    for name, sheet in in_inches.items():
        said = " ".join([sheet.drawing.title, sheet.drawing.description, sheet.datum, *sheet.statements, *words(sheet)])
        assert not alone.findall(said), name


def test_the_cut_list_in_inches_has_the_lines_of_the_one_in_mm(
    made: dict[str, Sheet], in_inches: dict[str, Sheet]
) -> None:
    """The exhaust's roof: 27.95 mm at the target are 1.100 in (25.4 mm, yard-and-pound-1959)."""
    first, second = words(made["cut-list-1"]), words(in_inches["cut-list-1"])
    assert "27.95" in first
    assert "1.100" in second
    assert "27.95" not in second
    assert any("inches" in one for one in second)
