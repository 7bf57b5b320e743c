"""Typed tables of gate times: every shape that is read, and every cell that is not."""

from pathlib import Path

import pytest

from scribeline.errors import RecordingError
from scribeline.recordings import GateTable, ReadOptions, read

LONG = "setup;run;from (km/h);to (km/h);seconds;direction;notes\nstock;1;25;40;6,42;out;\nstock;1;25;50;11,9;out;wind\n"


def typed(tmp_path: Path, text: str, options: ReadOptions | None = None) -> GateTable:
    path = tmp_path / "times.txt"
    path.write_text(text, encoding="utf-8")
    table = read(path, options)
    assert isinstance(table, GateTable)
    return table


def test_one_gate_in_each_row(tmp_path: Path) -> None:
    first, second = typed(tmp_path, LONG).rows
    assert (first.setup, first.run, first.seconds, first.direction, first.notes) == ("stock", "1", 6.42, "out", "")
    assert (first.from_m_s, first.to_m_s) == pytest.approx((25 / 3.6, 40 / 3.6))
    assert (second.to_m_s, second.seconds, second.notes, second.line) == (pytest.approx(50 / 3.6), 11.9, "wind", 3)


def test_one_run_in_each_row_pasted_from_a_spreadsheet(tmp_path: Path) -> None:
    text = "Setup\tRun\t25-40 km/h\t25 to 50 km/h (s)\tDirection\n"
    text += "stock\t1\t6.42\t11.90\tout\nnew pipe\t1\t6.2 ± 0.1\t\tback\n"
    rows = typed(tmp_path, text).rows
    assert [(r.setup, round(3.6 * r.to_m_s), r.seconds, r.plus_minus_s) for r in rows] == [
        ("stock", 40, 6.42, None), ("stock", 50, 11.9, None), ("new pipe", 40, 6.2, 0.1),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("cell", "seconds"),
    [("6.42", 6.42), ("6,42", 6.42), ("6.42 s", 6.42), ("0:06.42", 6.42), ("1:02,4", 62.4), ("01:02", 62.0),
     ("0:01:02.5", 62.5), ("6420 ms", 6.42)],
)  # fmt: skip
def test_times_in_every_form(tmp_path: Path, cell: str, seconds: float) -> None:
    assert typed(tmp_path, f"run;25-50 km/h\n1;{cell}\n").rows[0].seconds == pytest.approx(seconds)


@pytest.mark.parametrize(
    ("header", "low", "high", "from_km_h"),
    [("from mph", "20", "40", 32.18688), ("from (m/s)", "10", "15", 36.0), ("from (kn)", "10", "20", 18.52),
     ("from", "25 km/h", "50 km/h", 25.0)],
)  # fmt: skip
def test_any_speed_unit(tmp_path: Path, header: str, low: str, high: str, from_km_h: float) -> None:
    row = typed(tmp_path, f"{header};to;time\n{low};{high};6.4\n").rows[0]
    assert 3.6 * row.from_m_s == pytest.approx(from_km_h)


def test_a_speed_without_any_unit_is_refused_until_it_is_said(tmp_path: Path) -> None:
    text = "from;to;time\n25;50;6.4\n"
    with pytest.raises(RecordingError, match="the speed 25 has no unit"):
        typed(tmp_path, text)
    row = typed(tmp_path, text, ReadOptions(speed_unit="mph")).rows[0]
    assert 3.6 * row.from_m_s == pytest.approx(40.2336)


def test_a_cell_that_cannot_be_read_loses_its_row_only(tmp_path: Path) -> None:
    table = typed(
        tmp_path, LONG + "stock;2;25;40;aborted;back;\nstock;3;25;40;;back;\nstock;4;40;40;3;;\nstock;5;25;40;6,5;;\n"
    )
    assert [row.run for row in table.rows] == ["1", "1", "5"]
    said = "\n".join(map(str, table.notes))
    assert "line 4 was left out: “aborted” is refused" in said
    assert "line 5 was left out: no time" in said
    assert "line 6 was left out: from and to are the same speed" in said


def test_what_could_be_two_times_is_refused(tmp_path: Path) -> None:
    with pytest.raises(RecordingError, match=r"1,234 could be 1\.234 or 1234"):
        typed(tmp_path, "from km/h;to km/h;time\n25;50;1,234\n25;50;1,345\n")
    with pytest.raises(RecordingError, match=r"more cells than the header"):
        typed(tmp_path, "from km/h,to km/h,time\n25,50,6,42\n")
    assert typed(tmp_path, 'from km/h,to km/h,time\n25,50,"6,42"\n').rows[0].seconds == 6.42


def test_six_minutes_for_a_gate_are_not_believed(tmp_path: Path) -> None:
    """6:42 on a stopwatch may have been 6.42 s."""
    table = typed(tmp_path, "run;25-50 km/h\n1;6:42\n2;0:06.42\n")
    assert [row.run for row in table.rows] == ["2"]
    assert "402 s; accepted: 0.2 to 300 s" in str(table.notes[0])


def test_an_empty_setup_is_that_of_the_row_above(tmp_path: Path) -> None:
    table = typed(tmp_path, "setup;25-50 km/h\nstock;6.4\n;6.5\nnew;6.1\n;6.0\n")
    assert [(row.setup, row.run) for row in table.rows] == [("stock", "1"), ("stock", "2"), ("new", "1"), ("new", "2")]
    assert "row above (2 times)" in str(table.notes[0])


def test_tables_drawn_with_bars_or_spaces(tmp_path: Path) -> None:
    bars = "| setup | run | 25-50 km/h |\n|---|---|---|\n| stock | 1 | 6.42 |\n"
    spaces = "setup    run   25-50 km/h\nstock    1     6.42\nnew pipe 2     6.1\n".replace("new pipe 2", "new pipe  2")
    assert typed(tmp_path, bars).rows[0].seconds == 6.42
    assert [row.setup for row in typed(tmp_path, spaces).rows] == ["stock", "new pipe"]


def test_coasting_down_is_a_gate_too(tmp_path: Path) -> None:
    row = typed(tmp_path, "run;50-25 km/h\n1;14.2\n").rows[0]
    assert row.from_m_s > row.to_m_s


def test_further_columns_stand_beside_each_time_as_typed(tmp_path: Path) -> None:
    text = "setup;order;25-50 km/h;air C;dropped\nstock;1;6,42;18,5;\nstock;2;6,4;18,7;missed the mark\n"
    first, second = typed(tmp_path, text).rows
    assert dict(first.beside) == {"order": "1", "air C": "18,5", "dropped": ""}
    assert dict(second.beside) == {"order": "2", "air C": "18,7", "dropped": "missed the mark"}
    assert [row.run for row in (first, second)] == ["1", "2"]
