"""The papers that sheets are printed on, and the border a printer leaves blank."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from scribeline.errors import SheetError
from scribeline.units import MM_PER_INCH

MARGIN_MM = 10.0
"""Kept free on every side: common printers reach to about 5 mm, and a correction of 5 % needs 7 mm. Judgement."""


@dataclass(frozen=True)
class Paper:
    """One sheet of paper as it lies before the reader."""

    name: str
    width_mm: float
    height_mm: float

    def turned(self) -> "Paper":
        """The same paper on its other side: upright becomes lying, lying upright."""
        return Paper(self.name, self.height_mm, self.width_mm)


_INCH = float(MM_PER_INCH)
PAPERS: Mapping[str, Paper] = MappingProxyType(
    {
        "A4": Paper("A4", 210.0, 297.0),  # iso-216
        "A3": Paper("A3", 297.0, 420.0),  # iso-216
        "Letter": Paper("Letter", 8.5 * _INCH, 11.0 * _INCH),  # ansi-y14.1
    }
)


def paper_named(name: str) -> Paper:
    """The paper of that name, upright; capital or small letters. SheetError for any other.

    >>> paper_named("a4")
    Paper(name='A4', width_mm=210.0, height_mm=297.0)
    """
    for known, paper in PAPERS.items():
        if known.lower() == name.lower():
            return paper
    raise SheetError(
        f"paper {name!r} is not known here\n    accepted: {', '.join(PAPERS)}\n"
        "    what to do: name the paper that lies in the printer"
    )
