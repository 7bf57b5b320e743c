"""Track points as the parser comes by them: no tree is built, so nothing grows with the file but the rows.

defusedxml's parser refuses document types and entities, which is how a small file becomes a large one or asks for
others. Its events come here and go no further: walking over elements takes twice as long.
"""

from array import array
from collections.abc import Mapping
from contextlib import suppress
from datetime import UTC, datetime
from functools import lru_cache
from pathlib import Path

from defusedxml.ElementTree import DefusedXMLParser

from scribeline.recordings.assembling import Counts

DEEPEST = 60
"""Elements within elements; a track needs about ten."""
LONGEST_TAG = 200_000
"""Bytes of one tag or comment; the parser goes back to its beginning with every piece of it."""
LONGEST_TEXT = 1000
"""Characters of a number or time that are kept; what is longer is neither."""
MOST_IN_A_POINT, MOST_BESIDE = 1000, 200_000
"""Elements within a track point, and outside of all of them; a track needs about ten, and a few for each segment."""
PIECE = 65536  # bytes handed to the parser at a time
FIELDS = ("latitude_deg", "longitude_deg", "altitude_m", "speed_m_s", "course_deg", "hdop", "satellites")
_PLACES = {"ele": 2, "speed": 3, "course": 4, "hdop": 5, "sat": 6}  # of what stands within a point, in FIELDS
_NAN = float("nan")


class Points:
    """What the points of a file say: `stamps`, seconds since 1970 (NaN where unknown), and `rows`, FIELDS of each.

    utc_offset_h : hours that stamps without a zone are ahead of UTC; None takes them as UTC
    """

    def __init__(self, utc_offset_h: float | None, counts: Counts) -> None:
        self.stamps, self.rows = array("d"), array("d")
        self._offset_h, self._counts = utc_offset_h, counts
        self._depth = self._beside = self._in_point = 0
        self._point_at = 0  # depth of the track point that is open; 0 for none
        self._row: list[float] = []
        self._stamp: float | None = None
        self._text = ""

    def take(self, path: Path) -> None:
        """Take all points of a file.

        Raises ParseError, ValueError, or one of defusedxml's errors; the points before that place stay taken.
        """
        parser = DefusedXMLParser(target=self, forbid_dtd=True)
        given = 0
        with path.open("rb") as file:
            while data := file.read(PIECE):
                if given - parser.parser.CurrentByteIndex > LONGEST_TAG:
                    raise ValueError(f"a tag of more than {LONGEST_TAG} bytes")
                given += len(data)
                parser.feed(data)
        parser.close()

    def start(self, tag: str, attributes: Mapping[str, str]) -> None:
        """An element begins."""
        self._depth += 1
        if self._depth > DEEPEST:
            raise ValueError(f"more than {DEEPEST} elements within one another")
        self._text = ""
        if self._point_at:
            self._in_point += 1
        elif _local(tag) == "trkpt":
            self._point_at, self._in_point, self._beside = self._depth, 0, 0
            self._row, self._stamp = [_NAN] * len(FIELDS), None
            self._row[0], self._row[1] = self._number(attributes.get("lat")), self._number(attributes.get("lon"))
        else:
            self._beside += 1
        if self._in_point > MOST_IN_A_POINT or self._beside > MOST_BESIDE:
            raise ValueError("too many elements that are no track points")

    def data(self, text: str) -> None:
        """Text within an element, or a part of it."""
        if self._point_at and len(self._text) < LONGEST_TEXT:
            self._text += text[:LONGEST_TEXT]

    def end(self, tag: str) -> None:
        """An element ends."""
        depth, self._depth = self._depth, self._depth - 1
        if not self._point_at:
            return
        if depth == self._point_at:
            self.stamps.append(_NAN if self._stamp is None else self._stamp)
            self.rows.extend(self._row)
            self._point_at = 0
            return
        name = _local(tag)
        if place := _PLACES.get(name):
            self._row[place] = self._number(self._text)
        elif name == "time" and depth == self._point_at + 1 and self._stamp is None:
            self._stamp = self._seconds(self._text)
        self._text = ""

    def close(self) -> None:
        """Nothing is left to be done."""

    def _number(self, text: str | None) -> float:
        with suppress(TypeError, ValueError):
            return float(text)  # type: ignore[arg-type]
        if text and text.strip():
            self._counts.add("numbers that cannot be read were left out")
        return _NAN

    def _seconds(self, text: str) -> float | None:
        """Seconds since 1970; a stamp without a zone is UTC, as the standard says, unless an offset is given."""
        if not text.strip():
            return None
        try:
            moment = datetime.fromisoformat(text.strip())
        except ValueError:
            self._counts.add("times that cannot be read were left out")
            return _NAN
        if moment.tzinfo is None:
            hours = self._offset_h or 0.0
            self._counts.add(f"times without a zone were taken as {f'UTC{hours:+g} h' if hours else 'UTC'}")
            return moment.replace(tzinfo=UTC).timestamp() - 3600.0 * hours
        return moment.timestamp()


@lru_cache(maxsize=1000)
def _local(tag: str) -> str:
    """The name of an element without its namespace."""
    return tag.rpartition("}")[2].lower()
