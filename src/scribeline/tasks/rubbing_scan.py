"""A flat scan without markers in the work in hand: where its marks were laid, and how far the rule's two are apart.

    "rubbing": {..., "scan": {"marks": {"deck-left": [0.08, 0.11], ...}, "apart": "200"}}

A mark is kept as shares of the picture's width and height, so that it does not matter how large the picture is shown.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite
from typing import Any

from scribeline.errors import RubbingError
from scribeline.rubbing.scanning import Pixel, ScanMarks
from scribeline.units import Units, as_meant, length, read_quantity

MARKS: Mapping[str, str] = {
    "deck-left": "Deck line, left end",
    "deck-right": "Deck line, right end",
    "middle": "Below the exhaust's middle",
    "rule-one": "Rule, one mark",
    "rule-other": "Rule, another mark",
}
"""What is pointed at, by its key in the document. The rule's two are not needed where the scan says how fine it is."""
LEAST_APART_MM, MOST_APART_MM = 20.0, 1000.0


@dataclass(frozen=True)
class Scan:
    """What is known of a scan.

    marks : as shares of width and height; apart_mm : between the rule's two, None without a rule
    """

    marks: tuple[tuple[str, Pixel], ...] = ()
    apart_mm: float | None = None

    @property
    def to_lay(self) -> tuple[str, ...]:
        """The marks that nobody has laid yet, in words.

        >>> Scan((("deck-left", (0.1, 0.1)), ("deck-right", (0.9, 0.1)))).to_lay
        ("Below the exhaust's middle",)
        """
        laid = dict(self.marks)
        return tuple(
            words for key, words in MARKS.items()
            if key not in laid and (self.apart_mm is not None or not key.startswith("rule"))
        )  # fmt: skip

    def on(self, columns: int, rows: int) -> ScanMarks:
        """The marks, all of them laid, in pixels of the picture. The deck line's left end is the one further left."""
        at = {key: (x * columns, y * rows) for key, (x, y) in self.marks}
        left, right = sorted((at["deck-left"], at["deck-right"]))
        rule = None if self.apart_mm is None else (at["rule-one"], at["rule-other"], self.apart_mm)
        return ScanMarks((left, right), at["middle"], rule)


def scan_of(rubbing: Mapping[str, Any]) -> Scan | None:
    """The scan in hand; None for a photograph with markers.

    >>> scan_of({"scan": {"marks": {"middle": [0.5, 0.6]}, "apart": "100"}}).apart_mm
    100.0
    """
    kept = rubbing.get("scan")
    if not isinstance(kept, Mapping):
        return None
    marks = kept.get("marks") or {}
    typed = kept.get("apart")
    apart = read_quantity(str(typed), "mm").value if typed else None
    return Scan(tuple((key, mark_at(marks[key])) for key in MARKS if marks.get(key)), apart)


def mark_at(told: Any) -> Pixel:
    """A mark out of what a document or a browser says of it, kept inside the picture; RubbingError where it is none.

    >>> mark_at([0.25, 1.2])
    (0.25, 1.0)
    """
    try:
        x, y = (float(one) for one in told)
    except (TypeError, ValueError):
        x = y = float("nan")
    if not (isfinite(x) and isfinite(y)):
        raise RubbingError(
            "a mark that is nowhere\n    accepted: a place on the picture\n    what to do: lay the mark again"
        )
    return round(min(max(x, 0.0), 1.0), 6), round(min(max(y, 0.0), 1.0), 6)


def apart_typed(typed: str, units: Units = "mm") -> str | None:
    """What was typed between the rule's two marks, when it can be; None for an empty field: no rule.

    >>> apart_typed(" 200 "), apart_typed("8", "inch")
    ('200', '8 in')
    """
    meant = as_meant(typed.strip(), "mm", units)
    if not meant:
        return None
    apart = read_quantity(meant, "mm").value
    if not LEAST_APART_MM <= apart <= MOST_APART_MM:
        raise RubbingError(
            f"{length(apart, units)} between the two marks\n    accepted: {length(LEAST_APART_MM, units, 0)} to "
            f"{length(MOST_APART_MM, units, 0)}\n    what to do: take marks further apart, as far as the scan shows"
        )
    return meant
