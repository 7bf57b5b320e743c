"""One folder per format a test run can arrive in: recognise it, read it -> Recording, or a GateTable of typed times."""

from scribeline.recordings.formats import Answer, ReadOptions, SoundOptions
from scribeline.recordings.opening import FORMATS, read, recognise
from scribeline.recordings.recording import CHANNELS, Channel, GateTable, GateTime, Note, Recording

__all__ = [
    "CHANNELS",
    "FORMATS",
    "Answer",
    "Channel",
    "GateTable",
    "GateTime",
    "Note",
    "ReadOptions",
    "Recording",
    "SoundOptions",
    "read",
    "recognise",
]
