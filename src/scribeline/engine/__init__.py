"""The engine record: what was measured, each number with its +/- and instrument; nothing derived."""

from scribeline.engine.bottom_end import GasketSheet
from scribeline.engine.head import Squish
from scribeline.engine.measured import COVERAGE_FACTOR, INSTRUMENTS, Measured, Part, Reading, Spec, readings
from scribeline.engine.ports import EXHAUST_ROLES, TRANSFER_ROLES, Port
from scribeline.engine.reading import judged_again, judged_document, read_record, read_record_file, record_of
from scribeline.engine.record import EngineRecord
from scribeline.engine.writing import write_record

__all__ = [
    "COVERAGE_FACTOR",
    "EXHAUST_ROLES",
    "INSTRUMENTS",
    "TRANSFER_ROLES",
    "EngineRecord",
    "GasketSheet",
    "Measured",
    "Part",
    "Port",
    "Reading",
    "Spec",
    "Squish",
    "judged_again",
    "judged_document",
    "read_record",
    "read_record_file",
    "readings",
    "record_of",
    "write_record",
]
