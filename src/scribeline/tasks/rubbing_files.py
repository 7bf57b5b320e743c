"""What the command types and what it writes: points in a scan, names of openings, the overlay, the new record."""

from collections.abc import Collection, Mapping, Sequence
from pathlib import Path

from scribeline.engine import write_record
from scribeline.errors import RubbingError
from scribeline.marking.printer import bar_reading_mm
from scribeline.rubbing.scanning import ScanMarks
from scribeline.tasks.rubbing import Rubbing, measure_rubbing, with_ports
from scribeline.tasks.rubbing_report import kept_text, overlay_png, overlay_svg, rubbing_json, rubbing_text
from scribeline.units import read_quantity

__all__ = ["measure_rubbing", "names_of", "printed", "rubbing_json", "rubbing_text", "scan_marks", "write_overlay",
           "write_ports"]  # fmt: skip


def _numbers(option: str, typed: str, count: int, example: str) -> list[float]:
    try:
        numbers = [float(part) for part in typed.split(",")]
    except ValueError:
        numbers = []
    if len(numbers) != count:
        raise RubbingError(
            f"{option} {typed}\n    accepted: {count} numbers with commas between, such as {example}\n"
            "    what to do: read the pixel positions off in any program that shows pictures"
        )
    return numbers


def scan_marks(deck: str | None, middle: str | None, ruler: str | None) -> ScanMarks | None:
    """What was pointed at in a scan; None where nothing was. RubbingError where only a part was given.

    ruler : two marks, and how far they are apart: in mm, or in any unit that is written behind it

    >>> scan_marks("100,80,1900,84", "1000,900", "120,2000,2482,2004,4 in").ruler[2]
    101.6
    """
    if deck is None and middle is None and ruler is None:
        return None
    if deck is None or middle is None:
        raise RubbingError(
            "a scan without markers needs the deck line and the exhaust's middle\n"
            "    accepted: --deck X1,Y1,X2,Y2 and --middle X,Y together\n    what to do: give both"
        )
    x1, y1, x2, y2 = _numbers("--deck", deck, 4, "100,80,1900,84")
    x, y = _numbers("--middle", middle, 2, "1000,900")
    along = None
    if ruler is not None:
        points, _, apart = ruler.rpartition(",")
        a, b, c, d = _numbers("--ruler", points, 4, "120,2000,2482,2004 and behind them 100 or 4 in")
        along = ((a, b), (c, d), read_quantity(apart, "mm").value)
    return ScanMarks(((x1, y1), (x2, y2)), (x, y), along)


def printed(along: str | None, down: str | None) -> tuple[float, float]:
    """How long the printer made a line, along the deck line and down, by the 100 mm bars; 1 where nobody measured.

    >>> printed("98.7", None)
    (0.987, 1.0)
    """
    ways = ((along, "deck line"), (down, "wrap's ends"))
    first, second = (1.0 if typed is None else bar_reading_mm(typed, way) / 100.0 for typed, way in ways)
    return first, second


def names_of(typed: Sequence[str]) -> dict[int, tuple[str, str]]:
    """Names and roles of openings as NUMBER=NAME:ROLE.

    >>> names_of(["3=rear boost:boost"])
    {3: ('rear boost', 'boost')}
    """
    names = {}
    for one in typed:
        number, _, rest = one.partition("=")
        name, colon, role = rest.rpartition(":")
        if not (number.strip().isdigit() and colon and name.strip() and role.strip()):
            raise RubbingError(
                f"--port {one}\n    accepted: NUMBER=NAME:ROLE, such as 3=boost:boost\n"
                "    what to do: the numbers stand in the report and on the overlay"
            )
        names[int(number)] = (name.strip(), role.strip())
    return names


def write_overlay(rubbing: Rubbing, path: Path) -> None:
    """Write the overlay as a picture or, for a name that ends so, as SVG."""
    data = overlay_svg(rubbing).encode() if path.suffix.lower() == ".svg" else overlay_png(rubbing)
    _write(path, data)


def write_ports(
    rubbing: Rubbing,
    path: Path,
    names: Mapping[int, tuple[str, str]] | None = None,
    *,
    replace: bool = False,
    accept: Collection[int] = (),
) -> str:
    """Write the record with the rubbing's ports; returns what was left as it is, in words.

    Raises RubbingError where the file is already there: a record that was typed is never written over.
    """
    if path.exists():
        raise RubbingError(f"{path} is there already\n    accepted: a new file\n    what to do: choose another name")
    record, kept = with_ports(rubbing, names, replace=replace, accept=accept)
    _write(path, write_record(record).encode())
    return kept_text(kept)


def _write(path: Path, data: bytes) -> None:
    try:
        path.write_bytes(data)
    except OSError as error:
        raise RubbingError(f"{path} cannot be written: {error.strerror}; what to do: choose another place") from None
