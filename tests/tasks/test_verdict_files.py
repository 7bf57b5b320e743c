"""A comparison written down: text, JSON, CSV, workbook, pictures."""

import csv
import io
import json
from pathlib import Path

import openpyxl
import pytest

from scribeline.data.cautions import cautions_for
from scribeline.errors import SheetError
from scribeline.tasks.trial_table import runs_of_table
from scribeline.tasks.verdict_drawings import verdict_drawings
from scribeline.tasks.verdict_files import verdict_csv, verdict_json, write_pictures, write_xlsx
from scribeline.tasks.verdict_text import verdict_text
from scribeline.tasks.verdicts import Compared
from scribeline.trials.verdict import compare
from tests.tasks.trial_files import table

STOCK, CUT = [5.10, 5.02, 5.21, 5.13], [4.81, 4.70, 4.92, 4.77]


@pytest.fixture(scope="module")
def compared() -> Compared:
    rows = [("stock", i, s) for i, s in enumerate(STOCK, 1)] + [("=cut", i, s) for i, s in enumerate(CUT, 1)]
    rows += [("=cut", 5, 7.5, {"dropped": "missed the mark"})]
    rows += [(setup, i, s / 2, {"to": 40}) for setup, i, s, *_ in rows[:-1]]
    runs, measures = runs_of_table(table(*rows))
    return Compared(compare(runs, measures), cautions=tuple(cautions_for("run-test")))


def test_the_text_begins_with_the_sentence_and_ends_with_the_cautions(compared: Compared) -> None:
    text = verdict_text(compared)
    assert text.splitlines()[0] == "THE VERDICT"
    assert "25 to 50 km/h: =cut is quicker than stock by 0.31 s (" in text.replace("\n  ", " ")
    assert "dropped: missed the mark" in text
    assert "protective" in text.partition("CAUTIONS")[2]
    for heading in ("MEASURE BY MEASURE", "WHAT IT RESTS ON", "BEFORE YOU BELIEVE IT", "EVERY RUN", "RELIES ON"):
        assert f"\n{heading}" in text


def test_the_json_holds_every_number_and_every_run(compared: Compared) -> None:
    document = json.loads(verdict_json(compared))
    assert document["main_measure"] == "25 to 50 km/h"
    first = document["verdicts"][0]
    assert first["difference"] == pytest.approx(sum(CUT) / 4 - sum(STOCK) / 4, rel=1e-5)
    assert first["low_95"] < first["difference"] < first["high_95"]
    assert len(document["runs"]) == 9
    assert [run["dropped"] for run in document["runs"] if run["dropped"]] == ["missed the mark"]
    assert document["cautions"]
    assert document["predicted"] == []
    assert json.loads(verdict_json(compared, [{"name": "kart"}]))["predicted"] == [{"name": "kart"}]


def test_the_csv_can_be_read_back_and_starts_no_formula(compared: Compared) -> None:
    text = verdict_csv(compared)
    rows = list(csv.reader(io.StringIO(text)))
    gap = rows.index([])
    assert rows[1][0] == "25 to 50 km/h"
    assert float(rows[1][rows[0].index("difference")]) == pytest.approx(-0.315, abs=1e-6)
    assert len(rows) - gap - 2 == 9
    assert not any(cell.startswith("=") for row in rows for cell in row)


def test_the_workbook_opens_elsewhere_with_numbers_as_numbers(compared: Compared, tmp_path: Path) -> None:
    write_xlsx(compared, tmp_path / "verdict.xlsx")
    book = openpyxl.load_workbook(tmp_path / "verdict.xlsx")
    assert book.sheetnames == ["verdict", "runs"]
    sheet = book["verdict"]
    head = [cell.value for cell in sheet[1]]
    assert sheet.cell(2, head.index("difference") + 1).value == pytest.approx(-0.315, abs=1e-6)
    assert {sheet.cell(row, head.index("second") + 1).value for row in (2, 3)} == {"=cut"}
    assert sheet.cell(2, head.index("second") + 1).data_type == "s"
    assert book["runs"].max_row == 10


def test_pictures_are_written_and_may_be_transparent(compared: Compared, tmp_path: Path) -> None:
    assert [drawing.name for drawing in verdict_drawings(compared)] == ["verdict-25-to-50-km-h", "every-run"]
    one, two = write_pictures(compared, tmp_path / "v.svg")
    assert (one.name, two.name) == ("v.svg", "v-2.svg")
    assert '<rect class="sheet"' in one.read_text()
    (clear, _) = write_pictures(compared, tmp_path / "clear.svg", transparent=True)
    assert '<rect class="sheet"' not in clear.read_text()
    (png, _) = write_pictures(compared, tmp_path / "v.png")
    (clear_png, _) = write_pictures(compared, tmp_path / "c.png", transparent=True)
    assert corner(png)[3] == 255
    assert corner(clear_png)[3] == 0


def corner(path: Path) -> tuple[int, ...]:
    import cv2

    picture = cv2.imread(str(path), cv2.IMREAD_UNCHANGED)
    assert picture is not None
    pixel = tuple(int(v) for v in picture[2, 2])
    return pixel if len(pixel) == 4 else (*pixel, 255)


def test_what_cannot_be_written_is_refused(compared: Compared, tmp_path: Path) -> None:
    with pytest.raises(SheetError, match=r"ends in \.svg or \.png"):
        write_pictures(compared, tmp_path / "v.gif")
    (tmp_path / "file").touch()
    with pytest.raises(SheetError, match="choose another name"):
        write_xlsx(compared, tmp_path / "file" / "v.xlsx")


def test_more_setups_than_can_be_told_apart_are_not_drawn() -> None:
    rows = [(name, i, 5.0 + i / 10) for name in "abcde" for i in range(3)]
    runs, measures = runs_of_table(table(*rows))
    with pytest.raises(SheetError, match="at most 4"):
        verdict_drawings(Compared(compare(runs, measures)))
