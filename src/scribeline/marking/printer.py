"""What the check bars of a printed sheet measured, and the correction that follows for this printer.

A printer, a driver or a viewer may print a little too small or too large, and differently across and up the paper. The
builder types what a bar measured; the sheet is then drawn larger or smaller by that much, so that the same printer
puts it on paper at full size.
"""

from dataclasses import dataclass

from scribeline.errors import SheetError
from scribeline.units import MM_PER_INCH, read_quantity

BAR_MM = 100.0
BAR_IN_MM = 4.0 * float(MM_PER_INCH)
LARGEST = 0.05
"""A bar that is off by more than this share shows a wrong setting, not a printer's error. Judgement."""
SHORT, LONG = "short edge", "long edge"
"""What a bar runs along, as printed beside it."""
_CONFUSED_MM = 0.25  # a reading this near to the other bar's length may be of the other bar


@dataclass(frozen=True)
class Printer:
    """How long a bar of 100 mm came out, across the paper and up it; 100 where nothing has been measured.

    Across is along the paper's short edge and up along its long one, as upright paper lies: a printer moves its head
    the one way and the paper the other, whichever way round a drawing lies on it. SheetError where one is off by more
    than 5 %.
    """

    across_mm: float = BAR_MM
    up_mm: float = BAR_MM

    def __post_init__(self) -> None:
        for way, measured in ((SHORT, self.across_mm), (LONG, self.up_mm)):
            if not abs(measured / BAR_MM - 1.0) <= LARGEST + 1e-12:
                low, high = (BAR_MM * (1.0 + side * LARGEST) for side in (-1, 1))
                raise SheetError(
                    f"the 100 mm bar along the {way} measured {measured:.2f} mm\n    accepted: {low:g} to {high:g} mm\n"
                    "    what to do: print the PDF again at 100 %, actual size, with every kind of fitting to the page "
                    "switched off; so large an error is a setting, and correcting it would hide it"
                )

    def turned(self) -> "Printer":
        """The same for a page that lies on its side: across it is along the paper's long edge."""
        return Printer(self.up_mm, self.across_mm)

    @property
    def factors(self) -> tuple[float, float]:
        """By how much the drawing is stretched across and up: 100 over what the bar measured.

        >>> round(Printer(across_mm=98.7).factors[0], 6)
        1.013171
        """
        return BAR_MM / self.across_mm, BAR_MM / self.up_mm

    @property
    def words(self) -> str:
        """What a sheet says about its correction."""
        if (self.across_mm, self.up_mm) == (BAR_MM, BAR_MM):
            return "none"
        return f"bars of 100 mm measured {self.across_mm:g} {SHORT}, {self.up_mm:g} {LONG}"


def bar_reading_mm(typed: str, way: str) -> float:
    """How long the 100 mm bar is, from what the builder typed: mm for the 100 mm bar, inches for the 4 in bar.

    way : the edge of the paper that the bar runs along, for the message
    SheetError where the number fits the other bar better: 101.6 mm is 4 in, and 3.937 in is 100 mm.

    >>> bar_reading_mm("98.7", SHORT), round(bar_reading_mm("3.948 in", LONG), 3)
    (98.7, 98.7)
    """
    quantity = read_quantity(typed, "mm")
    inches = "in" in typed or '"' in typed or "″" in typed or "”" in typed
    own, other, length = (BAR_IN_MM, BAR_MM, "4 in") if inches else (BAR_MM, BAR_IN_MM, "100 mm")
    if abs(quantity.value - other) < _CONFUSED_MM:
        raise SheetError(
            f"the bar along the {way} measured {typed.strip()}: is that of the other bar?\n"
            "    accepted: the reading of the 100 mm bar in mm, or of the 4 in bar in inches\n"
            f"    what to do: measure the bar marked {length} once more, between the middles of its two end lines; if "
            "it really comes out so, give the reading of the other bar"
        )
    return quantity.value * BAR_MM / own
