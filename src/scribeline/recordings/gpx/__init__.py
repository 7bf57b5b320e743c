"""Tracks in GPX 1.1 (and 1.0). README.md tells what is read.

The file is read as a stream (points.py), so a track that breaks off keeps the points before the break, and a long one
needs no memory for its tree.
"""

import re
from pathlib import Path
from xml.etree.ElementTree import ParseError

import numpy as np
from defusedxml.common import DefusedXmlException

from scribeline.errors import RecordingError
from scribeline.recordings.assembling import Counts, assemble
from scribeline.recordings.formats import NO, YES, Answer, ReadOptions, unsupported
from scribeline.recordings.gpx.points import FIELDS, Points
from scribeline.recordings.recording import Recording
from scribeline.recordings.text import check_size, decoded

NAME = "gpx"
WHAT = "a GPX track"


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
    counts = Counts()
    points = Points(options.utc_offset_h, counts)
    try:
        points.take(path)
    except DefusedXmlException:
        raise RecordingError(
            f"{path.name} declares a document type or entities, which no track needs\n"
            "    what to do: do not use this file; save the track again with another program"
        ) from None
    except (ParseError, ValueError, OSError, LookupError) as error:
        if not points.stamps:
            raise RecordingError(f"{path.name} is not sound XML: {error}") from None
        counts.add(f"the file is damaged ({error}); the points before that place were kept")
    if not points.stamps:
        raise RecordingError(
            f"{path.name} holds no track point\n    what to do: save the track, not only its waypoints"
        )
    stamps_s, table = np.array(points.stamps), np.array(points.rows).reshape(-1, len(FIELDS))
    if not np.isfinite(stamps_s).any():
        raise RecordingError(
            f"{path.name}: none of its {len(stamps_s)} points has a time\n"
            "    what to do: record a track; a route has no times"
        )
    columns = {name: table[:, i] for i, name in enumerate(FIELDS)}
    return assemble(path.name, NAME, stamps_s, columns, counts.notes(), on_a_clock=True)
