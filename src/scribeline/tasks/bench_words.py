"""The numbers of the bench in words, in mm or in inches as the builder wants them."""

from scribeline.plan.cut_list import Line, Width
from scribeline.tasks.bench import Ask
from scribeline.units import Units, length, length_number, show_in

Places = tuple[tuple[str, str], ...]


def expected_words(ask: Ask, units: Units = "mm") -> str:
    """What is expected of a number, with its +/-.

    >>> expected_words(Ask("x", "roof", "mm", 28.7, 27.94, 0.2, "", True), "inch")
    '1.1000 ± 0.0079 in'
    """
    return show_in(ask.expected, ask.unit, ask.plus_minus or None, units)


def stop_words(stop_mm: float, units: Units = "mm") -> str:
    """Where a plain cut is to stop first.

    >>> stop_words(0.25)
    'Stop when 0.25 mm are off, and measure.'
    """
    return f"Stop when {length(stop_mm, units)} are off, and measure."


def line_words(line: Line, units: Units = "mm") -> tuple[str, Places, str]:
    """An edge to be cut: what it is, where it is now, where to stop, where it ends; and what the wheel says."""
    sides = "" if line.openings == 1 else f", on {line.openings} sides alike"
    places = [("now", "none yet" if line.now_mm is None else length(line.now_mm, units))]
    places += [("stop", length(line.stop_mm, units)), ("target", _with(line.target_mm, line.plus_minus_mm, units))]
    words = "Down from the deck as it is now."
    if line.opens_deg is not None and line.stop_opens_deg is not None:
        spread = f" ± {line.plus_minus_deg:.1f}°" if line.plus_minus_deg is not None else ""
        words += (
            f" On the wheel, after true top dead centre: {line.stop_opens_deg:.1f}° at the stop, "
            f"{line.opens_deg:.1f}°{spread} at the target."
        )
        if abs(line.wheel_zero_deg) >= 0.05:
            words += f" Your wheel reads {line.wheel_zero_deg:.1f}° at top dead centre: add it."
    return f"{line.port}, {line.edge}{sides}", tuple(places), words


def width_words(width: Width, units: Units = "mm") -> tuple[str, Places, str]:
    """The same for the sides of a port."""
    sides = "" if width.openings == 1 else f", on {width.openings} sides alike"
    now = "none yet" if width.now_chord_mm is None else length(width.now_chord_mm, units)
    places = (("now", now), ("stop", length(width.stop_chord_mm, units)))
    target = ("target", _with(width.target_chord_mm, width.plus_minus_mm, units))
    words = f"Straight across, half on each side. Along the bore, on the wrap: {length(width.target_arc_mm, units)}."
    return f"{width.port}, width{sides}", (*places, target), words


def _with(mm: float, plus_minus_mm: float, units: Units) -> str:
    return f"{length_number(mm, units)} ± {length(plus_minus_mm, units)}"
