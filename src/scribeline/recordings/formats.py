"""What a format is made of, and what its reader may be told. The formats themselves have a folder each."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Literal, Protocol

from scribeline.recordings.recording import Channel, GateTable, Recording

HEAD_BYTES = 65536
"""How much of a file's beginning a recogniser sees."""


@dataclass(frozen=True)
class Answer:
    """What a recogniser says: ours, not ours, or ours but unsupported, with the reason for the last."""

    is_ours: Literal["yes", "no", "unsupported"]
    because: str = ""


YES, NO = Answer("yes"), Answer("no")


def unsupported(because: str) -> Answer:
    """Ours, but unsupported; `because` says why and what to do instead."""
    return Answer("unsupported", because)


@dataclass(frozen=True)
class SoundOptions:
    """What is known about the engine that is heard.

    cylinders, strokes : 1 and 2 by default, which fires once per turn
    slowest_rpm, fastest_rpm : between which the engine speed is looked for
    metres_per_turn : road distance per turn of the crank, from gearing and tyre; None where unknown
    speed : a speed trace of the same stretch on the recording's own time, to tell octaves apart; None without one
    camera : "on board", or "standing" by the road, where the pitch shifts as the vehicle passes
    """

    cylinders: int = 1
    strokes: Literal[2, 4] = 2
    slowest_rpm: float = 1500.0
    fastest_rpm: float = 14000.0
    metres_per_turn: float | None = None
    speed: Channel | None = None
    camera: Literal["on board", "standing"] = "on board"


@dataclass(frozen=True)
class ReadOptions:
    """What a reader may be told where a file alone cannot say it.

    columns : header of a column -> "channel unit" ("speed_m_s km/h"), "time s", or "" to leave it out; for tables
    decimal : the decimal mark of a table; None to find out, and to refuse where it could be either
    speed_unit : unit of the speeds in a typed table whose headers have none
    utc_offset_h : hours that local stamps in the file are ahead of UTC; None where they are UTC or say it themselves
    mappings : file in which column mappings are remembered; None for no memory
    sound : about the engine that is heard
    """

    columns: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    decimal: Literal[".", ","] | None = None
    speed_unit: Literal["km/h", "m/s", "mph", "kn"] | None = None
    utc_offset_h: float | None = None
    mappings: Path | None = None
    sound: SoundOptions = field(default_factory=SoundOptions)


class Format(Protocol):
    """A folder of recordings/: two functions, and what the format is called for a reader of messages."""

    NAME: str
    WHAT: str

    def recognise(self, path: Path, head: bytes) -> Answer:
        """Say from the first HEAD_BYTES (and the name, where the bytes do not tell) whether the file is ours."""

    def read(self, path: Path, options: ReadOptions) -> Recording | GateTable:
        """Read the whole file; RecordingError where nothing in it can be used."""
