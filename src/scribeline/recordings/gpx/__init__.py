"""Tracks in GPX 1.1 (and 1.0). README.md tells what is read.

The file is read as a stream, so a track that breaks off keeps the points before the break, and a long one needs no
memory for its tree. defusedxml refuses document types and entities, which is how a small file becomes a large one or
asks for others.
"""

import re
from collections.abc import Iterator
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, BinaryIO
from xml.etree.ElementTree import ParseError, TreeBuilder

import numpy as np
from defusedxml.common import DefusedXmlException
from defusedxml.ElementTree import DefusedXMLParser, iterparse

from scribeline.errors import RecordingError
from scribeline.recordings.assembling import Counts, assemble
from scribeline.recordings.formats import NO, YES, Answer, ReadOptions, unsupported
from scribeline.recordings.recording import Recording
from scribeline.recordings.text import check_size, decoded

NAME = "gpx"
WHAT = "a GPX track"

DEEPEST = 60
"""Elements within elements; a track needs about ten."""
LONGEST_TAG = 200_000
"""Bytes of one tag or comment; the parser goes back to its beginning with every piece of it."""
MOST_IN_A_POINT, MOST_BESIDE = 1000, 200_000
"""Elements within a track point, and outside of all of them; a track needs about ten, and a few for each segment."""
_FIELDS = ("latitude_deg", "longitude_deg", "altitude_m", "speed_m_s", "course_deg", "hdop", "satellites")
_CHILDREN = {"ele": "altitude_m", "speed": "speed_m_s", "course": "course_deg", "hdop": "hdop", "sat": "satellites"}


def recognise(path: Path, head: bytes) -> Answer:
    """By its root element."""
    text = decoded(head)[:8192]
    root = re.search(r"<(?!\?|!)(?:\w+:)?(\w+)", re.sub(r"<!--.*?-->", "", text, flags=re.DOTALL))
    if not text.lstrip("\ufeff \t\r\n").startswith("<") or not root:
        return NO
    if root[1] == "gpx":
        return YES
    other = {"kml": "KML", "TrainingCenterDatabase": "TCX"}.get(root[1])
    return unsupported(f"it is {other}; save the track as GPX") if other else NO


def read(path: Path, options: ReadOptions) -> Recording:
    """All track points in order; the speed is taken where the file has it, and not worked out from the places."""
    check_size(path)
    counts, stamps, rows = Counts(), [], []
    try:
        for stamp, row in _points(path, options, counts):
            stamps.append(stamp)
            rows.append(row)
    except DefusedXmlException:
        raise RecordingError(
            f"{path.name} declares a document type or entities, which no track needs\n"
            "    what to do: do not use this file; save the track again with another program"
        ) from None
    except (ParseError, ValueError, OSError, LookupError) as error:
        if not rows:
            raise RecordingError(f"{path.name} is not sound XML: {error}") from None
        counts.add(f"the file is damaged ({error}); the points before that place were kept")
    if not rows:
        raise RecordingError(
            f"{path.name} holds no track point\n    what to do: save the track, not only its waypoints"
        )
    if not np.isfinite(stamps).any():
        raise RecordingError(
            f"{path.name}: none of its {len(rows)} points has a time\n"
            "    what to do: record a track; a route has no times"
        )
    table = np.array(rows)
    columns = {name: table[:, i] for i, name in enumerate(_FIELDS)}
    return assemble(path.name, NAME, np.array(stamps), columns, counts.notes(), on_a_clock=True)


class _Watched:
    """A file that breaks off where the parser makes no way in it."""

    def __init__(self, file: BinaryIO, parser: DefusedXMLParser) -> None:
        self.file, self.parser, self.given = file, parser, 0

    def read(self, size: int) -> bytes:
        if self.given - self.parser.parser.CurrentByteIndex > LONGEST_TAG + size:
            raise ValueError(f"a tag of more than {LONGEST_TAG} bytes")
        data = self.file.read(size)
        self.given += len(data)
        return data


def _points(path: Path, options: ReadOptions, counts: Counts) -> Iterator[tuple[float, list[float]]]:
    parser = DefusedXMLParser(target=TreeBuilder(), forbid_dtd=True)
    open_elements: list[Any] = []
    within = beside = in_point = 0
    with path.open("rb") as file:
        for event, element in iterparse(_Watched(file, parser), events=("start", "end"), parser=parser):
            name = _local(element.tag)
            if event == "start":
                open_elements.append(element)
                within += name == "trkpt"
                in_point, beside = (in_point + 1, beside) if within else (0, beside + 1)
                if len(open_elements) > DEEPEST:
                    raise ValueError(f"more than {DEEPEST} elements within one another")
                if in_point > MOST_IN_A_POINT or beside > MOST_BESIDE:
                    raise ValueError("too many elements that are no track points")
                continue
            open_elements.pop()
            if name == "trkpt":
                within, in_point = within - 1, 0
                yield _stamp(element, options, counts), _row(element, counts)
            if not within and open_elements:  # nothing of it is needed any more
                element.clear()
                open_elements[-1].remove(element)


def _local(tag: object) -> str:
    return str(tag).rpartition("}")[2].lower()


def _row(point: Any, counts: Counts) -> list[float]:
    found = dict.fromkeys(_FIELDS, float("nan"))
    for name, attribute in (("latitude_deg", "lat"), ("longitude_deg", "lon")):
        found[name] = _number(point.get(attribute), counts)
    for child in point.iter():
        field = _CHILDREN.get(_local(child.tag))
        if field and child is not point:
            found[field] = _number(child.text, counts)
    return list(found.values())


def _number(text: str | None, counts: Counts) -> float:
    with suppress(TypeError, ValueError):
        return float(text)  # type: ignore[arg-type]
    if text and text.strip():
        counts.add("numbers that cannot be read were left out")
    return float("nan")


def _stamp(point: Any, options: ReadOptions, counts: Counts) -> float:
    """Seconds since 1970; a stamp without a zone is UTC, as the standard says, unless an offset is given."""
    for child in point:
        if _local(child.tag) == "time" and child.text:
            try:
                moment = datetime.fromisoformat(child.text.strip())
            except ValueError:
                counts.add("times that cannot be read were left out")
                return float("nan")
            if moment.tzinfo is None:
                hours = options.utc_offset_h or 0.0
                counts.add(f"times without a zone were taken as {f'UTC{hours:+g} h' if hours else 'UTC'}")
                return moment.replace(tzinfo=UTC).timestamp() - 3600.0 * hours
            return moment.timestamp()
    return float("nan")
