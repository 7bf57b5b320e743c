"""A comparison as files: JSON, CSV and XLSX tables, SVG and PNG pictures."""

import csv
import io
import json
import os
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

from scribeline import __version__
from scribeline.errors import SheetError
from scribeline.marking.png import write_png
from scribeline.marking.shapes import Drawing
from scribeline.marking.svg import write_svg
from scribeline.tasks.verdict_drawings import verdict_drawings
from scribeline.tasks.verdicts import Compared
from scribeline.trials.verdict import Verdict
from scribeline.trials.wording import exact_words, sentence

_VERDICTS = (
    "measure", "unit", "first", "second", "runs_first", "runs_second", "mean_first", "mean_second", "sd_first",
    "sd_second", "difference", "low_95", "high_95", "p", "p_adjusted", "df", "shown", "p_exact", "detectable",
    "more_runs_to_halve", "method", "sentence",
)  # fmt: skip
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def verdict_json(compared: Compared, predicted: Sequence[Mapping[str, Any]] = ()) -> str:
    """Everything as one JSON document; predicted : of each trial's build, from `prediction_json`."""
    one = compared.comparison
    document = {
        "scribeline": __version__,
        "setups": list(one.setups),
        "main_measure": one.main.key,
        "verdicts": [
            dict(zip(_VERDICTS, _verdict_row(verdict), strict=True))
            | {
                "exact": exact_words(verdict),
                "beside": dict(verdict.slopes),
                "left_out": dict(verdict.design.left_out),
                "warnings": list(verdict.warnings),
            }
            for verdict in one.verdicts
        ],
        "any_differs": dict(one.any_differs),
        "not_compared": list(one.not_compared),
        "runs": [dict(zip(_run_head(compared), row, strict=True)) for row in _run_rows(compared)],
        "predicted": list(predicted),
        "said": list(compared.said),
        "sources": list(compared.sources),
        "cautions": [caution.text for caution in compared.cautions],
    }
    return json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False)


def verdict_csv(compared: Compared) -> str:
    """The verdicts and, after an empty line, every run; commas between, points in the numbers."""
    file = io.StringIO()
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow(_VERDICTS)
    writer.writerows([[_safe(cell) for cell in _verdict_row(one)] for one in compared.comparison.verdicts])
    writer.writerow([])
    writer.writerow([_safe(cell) for cell in _run_head(compared)])
    writer.writerows([[_safe(cell) for cell in row] for row in _run_rows(compared)])
    return file.getvalue()


def write_xlsx(compared: Compared, path: Path) -> None:
    """The same as a workbook with two sheets. Raises SheetError where it cannot be written."""
    _put(path, verdict_xlsx(compared))


def verdict_xlsx(compared: Compared) -> bytes:
    """The bytes of that workbook."""
    import xlsxwriter

    made = io.BytesIO()
    with xlsxwriter.Workbook(made, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False}) as book:
        heading = book.add_format({"bold": True, "text_wrap": True, "valign": "top"})
        for name, head, rows in (
            ("verdict", list(_VERDICTS), [_verdict_row(one) for one in compared.comparison.verdicts]),
            ("runs", _run_head(compared), list(_run_rows(compared))),
        ):
            sheet = book.add_worksheet(name)
            sheet.write_row(0, 0, head, heading)
            for i, row in enumerate(rows, start=1):
                for j, cell in enumerate(row):
                    if cell is not None:
                        sheet.write(i, j, cell)
            sheet.freeze_panes(1, 0)
            sheet.set_column(0, len(head) - 1, 14)
    return made.getvalue()


def write_pictures(
    compared: Compared, path: Path, *, transparent: bool = False, further: Sequence[Drawing] = ()
) -> list[Path]:
    """Every drawing as SVG or PNG, by the name's ending; the second gets a -2 before it, and so on.

    transparent : without paper, for laying over something else; further : drawings that come after its own
    Returns the files. Raises SheetError.
    """
    kind = path.suffix.lower()
    if kind not in (".svg", ".png"):
        raise SheetError(
            f"{path.name}\n    accepted: a name that ends in .svg or .png\n    what to do: choose another name"
        )
    written = []
    for number, drawing in enumerate([*verdict_drawings(compared), *further], start=1):
        target = path if number == 1 else path.with_name(f"{path.stem}-{number}{path.suffix}")
        _put(target, picture(drawing, kind, transparent=transparent))
        written.append(target)
    return written


def picture(drawing: Drawing, kind: str, *, transparent: bool = False) -> bytes:
    """One drawing as a file; kind : ".svg" or ".png"."""
    svg = write_svg(drawing)
    if transparent:
        svg = "\n".join(line for line in svg.splitlines() if not line.startswith('<rect class="sheet"')) + "\n"
    if kind == ".svg":
        return svg.encode()
    return write_png(svg, background=None if transparent else "#fbf9f4")


def _verdict_row(verdict: Verdict) -> list[Any]:
    exact = verdict.shuffled.p if verdict.shuffled else None
    numbers = (
        verdict.first.mean, verdict.second.mean, *verdict.sds, verdict.difference, verdict.low,
        verdict.high, verdict.p, verdict.p_adjusted, verdict.df,
    )  # fmt: skip
    return [
        verdict.measure.key, verdict.measure.unit, verdict.first.setup, verdict.second.setup,
        len(verdict.first.values), len(verdict.second.values), *(_rounded(one) for one in numbers), verdict.shown,
        None if exact is None else _rounded(exact), _rounded(verdict.detectable), verdict.more_runs, verdict.method,
        sentence(verdict),
    ]  # fmt: skip


def _run_head(compared: Compared) -> list[str]:
    head = ["setup", "run", "direction", "day", "pair", "order", "dropped"]
    for measure in compared.comparison.measures:
        head += [f"{measure.key}, {measure.unit}", f"{measure.key}, +/- {measure.unit}"]
    return head


def _run_rows(compared: Compared) -> Iterator[list[Any]]:
    one = compared.comparison
    for run in one.runs:
        if run.setup not in one.setups:
            continue
        row: list[Any] = [run.setup, run.name, run.direction, run.day, run.pair, run.order, run.dropped]
        for measure in one.measures:
            value = run.measures.get(measure.key)
            spread = value.plus_minus if value else None
            row += [_rounded(value.value) if value else None, None if spread is None else _rounded(spread)]
        yield row


def _rounded(value: float) -> float | None:
    return float(f"{value:.6g}") if value == value and abs(value) != float("inf") else None


def _safe(cell: Any) -> Any:
    """A text that a spreadsheet would take for a formula gets a mark before it."""
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(_FORMULA_STARTS) else "" if cell is None else cell


def _put(path: Path, data: bytes) -> None:
    """Write a file whole, or leave what stood there."""
    unfinished = path.parent / f".verdict-{os.getpid()}.part"
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        unfinished.write_bytes(data)
        unfinished.replace(path)
    except OSError as error:
        with suppress(OSError):
            unfinished.unlink()
        raise SheetError(
            f"{path}: {error.strerror or error}\n    accepted: a file in a folder you may write to\n"
            "    what to do: choose another name"
        ) from None


def put_text(path: Path, text: str) -> None:
    """Write a text file whole, or leave what stood there. Raises SheetError."""
    _put(path, text.encode())
