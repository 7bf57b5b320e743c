"""From a photograph to described openings: the whole chain, with a +/- for each edge made of its parts."""

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from scribeline.errors import RubbingError
from scribeline.rubbing.edges import Opening, openings
from scribeline.rubbing.flattening import Paper, find_paper, lay_flat
from scribeline.rubbing.markers import MARKER_MM, QUIET_MM, MarkerSheet
from scribeline.rubbing.outlines import Outline, describe
from scribeline.rubbing.photograph import Grey, Photograph
from scribeline.rubbing.scanning import ScanMarks, place_scan

FINEST_PX_PER_MM, COARSEST_PX_PER_MM = 20.0, 8.0
MARGIN_MM = 0.8
"""Kept away from the printed deck line and from the quiet border of the lower markers."""
SHARE_OF_BLUR = 0.3
"""Judgement: of an edge's blur, how much the model of an edge and the grain of the pencil may be off (standard
uncertainty). On 200 invented ports 0.2 covered 93 % of the edges and 0.3 covers 98 %."""
SHARE_OF_RESIDUAL = 0.5
"""Judgement: of what the markers leave over, how much moves a whole edge (standard uncertainty)."""
MOST_EDGE_MM = 0.3
"""Judgement: an edge that is not known better is not measured."""
MOST_DENT_MM = 0.3
"""Judgement: a port is convex; pencil inside it, a gap in the rubbing beside it or a hand over it make dents."""
MOST_BARE = 0.08
"""Judgement: a share of the edge; rubbed wall has pencil's grain all along, the dark side of a shadow has none."""


@dataclass(frozen=True)
class Seen:
    """One opening as measured, in mm on the bore's wall: across from the exhaust's middle, down from the deck.

    edge_plus_minus_mm, radius_plus_minus_mm : for about 95 %, of the photograph alone
    """

    outline: Outline
    opening: Opening
    edge_plus_minus_mm: float
    radius_plus_minus_mm: float

    @property
    def doubt(self) -> str:
        """Why this should not be believed without looking at it; "" where nothing speaks against it."""
        if self.outline.dent_mm > MOST_DENT_MM:
            return f"its edge runs inwards by {self.outline.dent_mm:.1f} mm, which the edge of a port does not"
        if self.edge_plus_minus_mm > MOST_EDGE_MM:
            return f"its edges are only known to {self.edge_plus_minus_mm:.1f} mm"
        if self.opening.bare > MOST_BARE:
            return f"{100 * self.opening.bare:.0f} % of its edge has no pencil outside it: is it the end of a shadow?"
        return ""


@dataclass(frozen=True)
class Reading:
    """All openings of a photograph, and the paper laid flat.

    flat : the part between the rows of markers, px_per_mm fine, its upper left corner at left_mm, top_mm
    stretch : what lengths along the paper were multiplied by, down lengths by stretch_down
    paper : how the picture shows the paper
    """

    seen: tuple[Seen, ...]
    flat: Grey
    left_mm: float
    top_mm: float
    px_per_mm: float
    residual_mm: float
    markers_found: int
    markers_wanted: int
    stretch: float
    stretch_down: float
    paper: Paper | None = None


def read_rubbing(
    photograph: Photograph,
    sheet: MarkerSheet,
    *,
    bore_mm: float,
    paper_mm: float = 0.1,
    printed: tuple[float, float] = (1.0, 1.0),
    scan: ScanMarks | None = None,
) -> Reading:
    """Measure the openings in a photograph of a rubbed marker sheet, or in a scan of any rubbing.

    paper_mm : thickness of the paper; inside the bore its middle lies half of that off the wall, so an arc on the wall
        is D/(D - t) times the length on the paper
    printed : how long the printer made a line of length 1, across and down: what the bars measured over what they say
    scan : what somebody pointed at in a flat scan without markers; None for a picture with markers
    Raises RubbingError with the reason where the paper, its sharpness or its contrast do not allow it, and where no
    opening is found.
    """
    for share in printed:
        if not 0.95 <= share <= 1.05:
            raise RubbingError(
                f"the printed bars measure {100 * share:.1f} % of what they say\n    accepted: 95 to 105 %\n"
                "    what to do: print again at 100 %, without fitting to the page"
            )
    if not 0.0 <= paper_mm <= 0.5:
        raise RubbingError(f"paper {paper_mm:g} mm thick\n    accepted: 0 to 0.5 mm\n    what to do: use thin paper")
    if scan is None:
        paper = find_paper(photograph, tuple(one.number for one in sheet.markers))
        bottom = sheet.lower_row_mm - 0.5 * MARKER_MM - QUIET_MM - MARGIN_MM
        box = np.array([sheet.left_mm, MARGIN_MM, sheet.right_mm, bottom])
    else:
        paper, printed = place_scan(photograph, scan), (1.0, 1.0)
        box = _seen_box(photograph, paper, sheet)
    px_per_mm = float(np.clip(round(paper.px_per_mm), COARSEST_PX_PER_MM, FINEST_PX_PER_MM))
    flat = lay_flat(photograph.grey, paper.to_picture, box, px_per_mm)
    stretch = bore_mm / (bore_mm - paper_mm) * printed[0]
    return _measured(flat, box, px_per_mm, paper, len(sheet.markers), stretch, printed[1])


def _seen_box(photograph: Photograph, paper: Paper, sheet: MarkerSheet) -> npt.NDArray[np.float64]:
    """The part of a scan below the deck line, no further round than the bore."""
    rows, columns = photograph.grey.shape
    origin, across, down = paper.to_picture(np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]))
    turn = np.linalg.inv(np.column_stack([across - origin, down - origin]))
    corners = (np.array([[1, 1], [columns - 2, 1], [1, rows - 2], [columns - 2, rows - 2]]) - origin) @ turn.T
    left, right = max(corners[[0, 2], 0]), min(corners[[1, 3], 0])
    bottom = min(corners[2:, 1])
    return np.array([max(left, sheet.left_mm), MARGIN_MM, min(right, sheet.right_mm), bottom])


def _measured(
    flat: Grey,
    box: npt.NDArray[np.float64],
    px_per_mm: float,
    paper: Paper,
    wanted: int,
    stretch: float,
    stretch_down: float,
) -> Reading:
    left, top = float(box[0]), float(box[1])
    moved = float(np.hypot(SHARE_OF_RESIDUAL * paper.residual_mm, paper.bow_mm))
    seen = tuple(_seen(one, moved, stretch, stretch_down) for one in openings(flat, left, top, px_per_mm))
    if not seen:
        raise RubbingError(
            "no opening found: nothing light with rubbed grey all round it\n"
            "    accepted: each port rubbed round on all four sides, at least 3 mm wide\n"
            "    what to do: rub over the whole wall round every port, not only along its edges"
        )
    return Reading(
        seen, flat, left, top, px_per_mm, paper.residual_mm, len(paper.numbers), wanted, stretch, stretch_down, paper
    )


def _seen(opening: Opening, moved_mm: float, stretch: float, stretch_down: float) -> Seen:
    """moved_mm : by how much an uneven paper may move a whole edge (standard uncertainty)"""
    scaled = replace(opening, edge_mm=opening.edge_mm * (stretch, stretch_down))
    outline = describe(scaled)
    common = np.hypot(moved_mm, SHARE_OF_BLUR * opening.blur_mm)
    edge = 2.0 * float(np.hypot(outline.sigma_mm, common))
    radius = 2.0 * float(np.hypot(outline.radius_sigma_mm, 2.0 * SHARE_OF_BLUR * opening.blur_mm))
    return Seen(outline, scaled, edge, radius)
