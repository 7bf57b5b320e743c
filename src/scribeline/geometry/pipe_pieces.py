"""A whole pipe cut up into pieces of sheet: every section developed, bends as mitred pieces, each with its outline.

What the pieces look like on a drawing, on a page or on a sheet of stock stands in `scribeline.marking`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import atan, cos

from scribeline.geometry.flat_pattern import (
    MOST_TURN_DEG,
    Bend,
    Outline,
    Piece,
    Sheet,
    mitred,
    neutral_mm,
    outline,
    pieces_of,
)

SEAM_DEG = 180.0
"""Seam of a straight section: opposite the line its pattern is centred on."""
BENT_SEAM_DEG = 90.0
"""Seams of a bend lie on its sides, right and left by turns, so that no two meet. Common practice, no source."""


@dataclass(frozen=True)
class PipeSection:
    """A section as measured or designed: inside diameters and length along the middle line, mm; its bend, if any."""

    name: str
    length_mm: float
    start_mm: float
    end_mm: float
    bend_deg: float = 0.0
    bend_radius_mm: float | None = None


@dataclass(frozen=True)
class CutPiece:
    """One piece of sheet of a pipe.

    number : counted along the pipe from 1; section : its section's name; part, parts : which of the section's pieces
    inside_mm : inside diameters where its cuts meet the middle line, engine end first
    piece : its neutral surface; seam_deg : where its seam lies; outline : what is cut, gaps and allowance in it
    back_mm : taken off at the engine's and the far end for the weld gap
    """

    number: int
    section: str
    part: int
    parts: int
    inside_mm: tuple[float, float]
    piece: Piece
    seam_deg: float
    outline: Outline
    back_mm: tuple[float, float]

    @property
    def name(self) -> str:
        """What is written on it, such as "header 2/7"."""
        return f"{self.section} {self.part}/{self.parts}" if self.parts > 1 else self.section


def bend_of(section: PipeSection, most_turn_deg: float = MOST_TURN_DEG) -> Bend | None:
    """How a section's bend is divided into joints; None for a straight one."""
    if not section.bend_deg:
        return None
    return mitred(section.length_mm, section.bend_deg, section.bend_radius_mm, most_turn_deg)


def cut_up(sections: Sequence[PipeSection], sheet: Sheet, most_turn_deg: float = MOST_TURN_DEG) -> list[CutPiece]:
    """Every piece of sheet of a pipe, engine end first.

    The weld gap is taken off both edges of the seam (not where there is a seam allowance) and off both ends but the
    two of the pipe itself. Raises GeometryError for a section that cannot be made, with its name.
    """
    plain: list[tuple[PipeSection, int, int, Piece]] = []
    for section in sections:
        start, end = neutral_mm(section.start_mm, section.end_mm, section.length_mm, sheet.thickness_mm)
        pieces = pieces_of(start, end, section.length_mm, bend_of(section, most_turn_deg))
        plain += [(section, part, len(pieces), piece) for part, piece in enumerate(pieces, start=1)]
    cut = []
    half = 0.5 * sheet.gap_mm
    right = sheet.overlap_mm or -half
    left = 0.0 if sheet.overlap_mm else -half
    for number, (section, part, parts, piece) in enumerate(plain, start=1):
        seam = SEAM_DEG if parts == 1 else BENT_SEAM_DEG if part % 2 else -BENT_SEAM_DEG
        back = (half if number > 1 else 0.0, half if number < len(plain) else 0.0)
        shape = outline(piece, seam, left_mm=left, right_mm=right, back_mm=back)
        more = sheet.thickness_mm * cos(atan(piece.slope))
        inside = (piece.start_mm - more, piece.end_mm - more)
        cut.append(CutPiece(number, section.name, part, parts, inside, piece, seam, shape, back))
    return cut
