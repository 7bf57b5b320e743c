"""A rubbing in the work in hand: which photograph, what was moved by hand, what openings are called.

    "rubbing": {"photo": sha256, "name": "IMG_0042.jpg", "record": {...as it was when the photograph came...},
        "paper": "0.1", "along": "99.6", "down": "", "moved": {"opening-3": shape}, "over": {"opening-3": true},
        "names": {"opening-7": {"name": "boost", "role": "boost"}}, "scan": see `rubbing_scan`}

The photograph itself is a file of the build, in the notebook. Its record is kept with it because openings are named by
it: accepting a port must not name the others anew.
"""

from collections.abc import Iterable, Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from scribeline.errors import RubbingError
from scribeline.marking.measuring_views import measuring_drawing
from scribeline.notebook import FileToAttach
from scribeline.tasks.in_hand import record_toml
from scribeline.tasks.inline_drawings import InlineDrawing, inline_drawing
from scribeline.tasks.notebook import Where, bytes_of, opened
from scribeline.tasks.rubbing_files import printed
from scribeline.tasks.rubbing_review import OpeningShown, Review, corrected
from scribeline.tasks.rubbing_scan import Scan, scan_of
from scribeline.units import Units, as_meant, read_quantity

PAPER_MM = 0.1
MEDIA_TYPES = {".jpg": "image/jpeg", ".png": "image/png", ".webp": "image/webp", ".tif": "image/tiff"}


def keep_photograph(build: str, path: Path, name: str, *, where: Where = None) -> str:
    """Keep a photograph as a file of a build; its SHA-256. name : what the device called it"""
    media_type = MEDIA_TYPES.get(path.suffix, "application/octet-stream")
    with opened(where) as notebook:
        (kept,) = notebook.attach(build, [FileToAttach(name, media_type, bytes_of(path))])
    return kept.sha256


def photograph_at(sha256: str, folder: Path, *, where: Where = None) -> Path:
    """The kept photograph as a file in a folder, for a worker to read; NotebookError where there is none."""
    path = folder / f"{sha256}.photograph"
    if not path.exists():
        with opened(where) as notebook:
            content = notebook.content(sha256)
        unfinished = path.with_suffix(".part")
        unfinished.write_bytes(content)
        unfinished.replace(path)
    return path


def begun_with(document: Mapping[str, Any], sha256: str, name: str) -> dict[str, Any]:
    """The document's part for a photograph that has just come; what was typed of the paper stays."""
    before = document.get("rubbing") or {}
    stays = {key: before[key] for key in ("paper", "along", "down") if before.get(key)}
    at = datetime.now(UTC).isoformat(timespec="seconds")
    return {"photo": sha256, "name": name, "at": at, "record": document.get("record") or {}} | stays


def how_it_is_rubbed() -> InlineDrawing:
    """A rubbing and what is taken from it."""
    return inline_drawing(measuring_drawing("rubbing"))


def reading_wishes(rubbing: Mapping[str, Any]) -> tuple[str, float, tuple[float, float], Scan | None]:
    """What a photograph is measured with: its record as text, the paper's thickness, how long the printer made lines,
    and the marks where it is a flat scan without markers; none of them before all are laid.

    Raises RubbingError and TypedValueError for what was typed wrongly.
    """
    thickness = read_quantity(str(rubbing["paper"]), "mm").value if rubbing.get("paper") else PAPER_MM
    if not 0.0 <= thickness <= 0.5:
        raise RubbingError(f"paper {thickness:g} mm thick\n    accepted: 0 to 0.5 mm\n    what to do: use thin paper")
    scan = scan_of(rubbing)
    scan = Scan() if scan is not None and scan.to_lay else scan
    scale = printed(rubbing.get("along") or None, rubbing.get("down") or None)
    return record_toml({"record": rubbing.get("record") or {}}), thickness, scale, scan


WISHES: tuple[tuple[str, Mapping[Units, str], Mapping[Units, str]], ...] = (
    (
        "paper",
        {"mm": "Thickness of the paper, mm", "inch": "Thickness of the paper, in"},
        {"mm": "0.1", "inch": "0.004"},
    ),
    (
        "along",
        {"mm": "100 mm bar along the deck line measured, mm", "inch": "4 in bar along the deck line measured, in"},
        {"mm": "100", "inch": "4"},
    ),
    (
        "down",
        {"mm": "100 mm bar at right angles to it, mm", "inch": "4 in bar at right angles to it, in"},
        {"mm": "100", "inch": "4"},
    ),
)
"""What may be said of the paper: its key, what is asked for, and what is taken where nothing is typed."""
FINE_MM, COARSE_MM = 0.05, 0.5
"""How far an arrow key moves an edge of an outline, alone and with Shift."""


def wish_typed(key: str, typed: str, units: Units = "mm") -> str | None:
    """What was typed of the paper, when it can be; None for an empty field. Errors as `reading_wishes`.

    units : what a bare number is meant in; inches are kept with their unit

    >>> wish_typed("paper", " 0.08 ")
    '0.08'
    """
    meant = as_meant(typed.strip(), "mm", units)
    if not meant:
        return None
    reading_wishes({key: meant})
    return meant


def key_of(number: int) -> str:
    """What an opening's own things stand under; a number alone would be a position in a list.

    >>> key_of(3)
    'opening-3'
    """
    return f"opening-{number}"


def openings_now(review: Review, rubbing: Mapping[str, Any]) -> tuple[OpeningShown, ...]:
    """The openings with what was moved by hand; a shape that cannot be is left as it was found."""
    moved = rubbing.get("moved") or {}
    return tuple(_moved(one, moved.get(key_of(one.number))) for one in review.openings)


def _moved(one: OpeningShown, kept: Mapping[str, Any] | None) -> OpeningShown:
    try:
        return corrected(one, kept)
    except RubbingError:
        return one


def names_now(rubbing: Mapping[str, Any]) -> dict[int, tuple[str, str]]:
    """Names and roles that were given to openings, by number.

    >>> names_now({"names": {"opening-7": {"name": "boost", "role": "boost"}}})
    {7: ('boost', 'boost')}
    """
    given = (rubbing.get("names") or {}).items()
    return {
        int(key.rpartition("-")[2]): (str(one["name"]), str(one["role"]))
        for key, one in given
        if one and one.get("name") and key.rpartition("-")[2].isdigit()
    }


def over_now(rubbing: Mapping[str, Any], openings: Iterable[OpeningShown]) -> tuple[str, ...]:
    """Ports whose numbers from other instruments are to be written over; kept by the number of one of their openings.

    >>> over_now({"over": {"opening-3": True}}, ())
    ()
    """
    wished = rubbing.get("over") or {}
    return tuple(dict.fromkeys(one.port for one in openings if one.port and wished.get(key_of(one.number))))
