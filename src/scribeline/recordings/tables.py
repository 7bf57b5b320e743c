"""Tables as text: the delimiter, the decimal mark, the rows. Shared by logged columns and typed gate times.

Strict where a number could mean two things: 1,234 with nothing to say whether the comma parts thousands is refused,
for a table as for a single typed value.
"""

import csv
import re
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Literal

from scribeline.errors import RecordingError
from scribeline.recordings.text import check_size, encoding_of

Mark = Literal[".", ","]
DELIMITERS = "\t;,|"
LOOKED_AT = 200  # rows from which delimiter and decimal mark are found out
LONGEST_LINE = 20_000  # characters; a longer one is no row of a table
MOST_COLUMNS = 300
LONGEST_HEADER = 100  # characters of a cell that may be a header, a number or a time; patterns are held against no more
_NUMBER = re.compile(r"[+-]?[0-9]+([.,])([0-9]+)")


def lines_of(path: Path) -> Iterator[str]:
    """The lines of a text file, one after the other, without their ends; RecordingError where it is no text."""
    check_size(path)
    with path.open("rb") as file:
        encoding = encoding_of(file.read(65536))
    with path.open(encoding=encoding, errors="replace") as file:
        while line := file.readline(LONGEST_LINE):
            if "\0" in line:
                raise RecordingError(f"{path.name} is no text file\n    what to do: save it as CSV")
            yield line.rstrip("\r\n")


def delimiter_of(lines: Iterable[str]) -> str:
    """The mark between columns: the one that cuts most lines into the same number of cells, at least two.

    A comma is taken only where no other mark does as well, since it may be a decimal mark. "" where there is none.
    """
    rows = [line for line in lines if line.strip()][:LOOKED_AT]
    best, best_score = "", 0.0
    for mark in DELIMITERS:
        counts = [len(cells_of(row, mark)) for row in rows]
        usual = max(set(counts), key=counts.count, default=1)
        if usual < 2 or usual > MOST_COLUMNS:
            continue
        score = counts.count(usual) / len(counts) * (0.7 if mark == "," else 1.0)
        if score > best_score + 1e-9:
            best, best_score = mark, score
    return best


def decimal_of(cells: Iterable[str], delimiter: str, where: str, said: Mark | None = None) -> Mark:
    """The decimal mark of a table's numbers: what was said, else what its cells show.

    A mark followed by one, two or more than three digits, or behind a leading 0, cannot part thousands. Raises
    RecordingError where both marks are shown to be decimal marks, or where all that stands there is like 1,234.
    """
    if said is not None:
        return said
    if delimiter == ",":
        return "."
    shown: set[str] = set()
    doubtful: dict[str, str] = {}
    for cell in cells:
        found = _NUMBER.fullmatch(cell.strip())
        if not found:
            continue
        mark, digits = found[1], found[2]
        whole = cell.strip().lstrip("+-").partition(mark)[0]
        if len(digits) != 3 or whole.startswith("0") or len(whole) > 3:
            shown.add(mark)
        else:
            doubtful.setdefault(mark, cell.strip())
    if len(shown) > 1:
        raise RecordingError(
            f"{where}: some numbers have a decimal point and others a decimal comma\n"
            "    what to do: save the table again with one decimal mark"
        )
    if shown:
        mark = shown.pop()
        return "," if mark == "," else "."
    if "," in doubtful:
        raise RecordingError(
            f"{where}: {doubtful[',']} could be {doubtful[','].replace(',', '.')} or {doubtful[','].replace(',', '')}\n"
            "    what to do: say which mark is the decimal mark"
        )
    return "."


def cells_of(line: str, delimiter: str) -> list[str]:
    """One line cut into cells without spaces around them; quotes around a cell are taken away."""
    if not delimiter:
        return [line.strip()]
    try:
        return [cell.strip() for cell in next(csv.reader([line], delimiter=delimiter), [])]
    except csv.Error:
        return [cell.strip() for cell in line.split(delimiter)]
