"""The exhaust pipe drawn to scale: every section with its length and its diameters, bends straightened."""

from collections.abc import Sequence
from dataclasses import dataclass

from scribeline.errors import SheetError
from scribeline.marking.drafting import bounds, customary_scale, scale_words
from scribeline.marking.labels import Label, rail, wrapped
from scribeline.marking.shapes import (
    NOTE_MM,
    Circle,
    Drawing,
    Group,
    group,
    lettering,
    line,
    polygon,
)
from scribeline.units import Units, length, length_number, unit_of

_PAPER_MM = 230.0  # the pipe is reduced until it is no longer
_CLEAR_MM = 6.0
_LABEL_MM = 24.0


@dataclass(frozen=True)
class PipeSection:
    """A straight or conical piece: length along the middle line and inside diameters, engine end first."""

    name: str
    length_mm: float
    start_mm: float
    end_mm: float
    bend_deg: float = 0.0


@dataclass(frozen=True)
class Pipe:
    """What the view of the pipe shows, port face first. units : what whoever reads it measures lengths in"""

    sections: tuple[PipeSection, ...]
    name: str = "pipe"
    units: Units = "mm"

    @property
    def length_mm(self) -> float:
        return sum(section.length_mm for section in self.sections)


def pipe_view(pipe: Pipe, fitted: Pipe | None = None) -> Drawing:
    """The pipe lying along its middle line, at the largest customary scale that fits.

    fitted : another pipe, drawn over it in broken lines from the same flange

    Raises SheetError for a pipe without sections.

    >>> pipe_view(Pipe((PipeSection("header", 240.0, 34.0, 38.0), PipeSection("diffuser", 255.0, 38.0, 82.0)))).scale
    0.2
    """
    if not pipe.sections:
        raise SheetError("a pipe without sections cannot be drawn: give each its length and diameters")

    def say(mm: float) -> str:
        return length_number(mm, pipe.units, None)

    both = (*pipe.sections, *(fitted.sections if fitted else ()))
    scale = customary_scale(max(pipe.length_mm, fitted.length_mm if fitted else 0.0), _PAPER_MM)
    widest = 0.5 * scale * max(max(section.start_mm, section.end_mm) for section in both)
    foot, head = -widest - _CLEAR_MM, widest + _CLEAR_MM
    joints = [0.0]
    for section in pipe.sections:
        joints.append(joints[-1] + scale * section.length_mm)
    shells, lengths = [], []
    for number, (section, left, right) in enumerate(zip(pipe.sections, joints[:-1], joints[1:], strict=True), start=1):
        start, end = 0.5 * scale * section.start_mm, 0.5 * scale * section.end_mm
        shell = polygon((left, -start), (right, -end), (right, end), (left, start))
        shells.append(group("outline", shell, fill="wash", about=_in_words(section, pipe.units)))
        bend = [f"bend {section.bend_deg:g}°"] if section.bend_deg else []
        words = (*wrapped(section.name or f"section {number}", _LABEL_MM), say(section.length_mm), *bend)
        lengths.append(Label((0.5 * (left + right), foot), words))
    diameters, extensions = [], []
    for x, before, after in _joints(pipe, joints):
        radius = 0.5 * scale * max(before, after)
        diameter = f"Ø{say(before)}" if before == after else f"Ø{say(before)} to Ø{say(after)}"
        diameters.append(Label((x, radius), (diameter,)))
        extensions.append(line((x, -radius - 0.7), (x, foot - 1.2)))
    left_mm, right_mm = -14.0, joints[-1] + 14.0
    groups: list[Group] = [
        *shells,
        *_fitted(fitted, scale, pipe.units),
        group("centre", line((-4.0, 0), (joints[-1] + 4.0, 0))),
        group("dimension", line((0, foot), (joints[-1], foot)), *extensions),
        group("dimension", *(Circle((x, foot), 0.5) for x in joints), fill="ink"),
        *rail(diameters, base_mm=head - 3.0, side="above", left_mm=left_mm, right_mm=right_mm),
        *rail(lengths, base_mm=foot - 2.0, side="below", dots=False, left_mm=left_mm, right_mm=right_mm),
    ]
    captions = (
        f"{say(pipe.length_mm)} overall along the middle line, {scale_words(scale)}. Port face on the left.",
        f"Lengths and inside diameters in {unit_of(pipe.units, spelled=True)}."
        + (" Bends are drawn straight." if _bent(pipe) else ""),
        *([f"Broken lines: the pipe that is fitted, {say(fitted.length_mm)} overall."] if fitted else []),
    )
    place = 0.5 * joints[-1], bounds(groups).bottom - 2.5 * NOTE_MM
    groups.append(group("note", *lettering(place, captions, NOTE_MM, "middle")))
    return Drawing(pipe.name, "The exhaust pipe", _description(pipe), tuple(groups), scale)


def _fitted(pipe: Pipe | None, scale: float, units: Units) -> list[Group]:
    """The outline of another pipe, upper side, lower side and both ends."""
    if pipe is None:
        return []
    points, x = [], 0.0
    for section in pipe.sections:
        points += [(x, 0.5 * scale * section.start_mm), (x + scale * section.length_mm, 0.5 * scale * section.end_mm)]
        x += scale * section.length_mm
    around = polygon(*points, *((x, -y) for x, y in reversed(points)))
    return [group("today", around, about=f"the pipe that is fitted, {length(pipe.length_mm, units, None)} long")]


def _joints(pipe: Pipe, joints: Sequence[float]) -> list[tuple[float, float, float]]:
    """Each joint with the diameters before and after it; at the two ends both are the same."""
    befores = [pipe.sections[0].start_mm, *(section.end_mm for section in pipe.sections)]
    afters = [*(section.start_mm for section in pipe.sections), pipe.sections[-1].end_mm]
    return list(zip(joints, befores, afters, strict=True))


def _bent(pipe: Pipe) -> bool:
    return any(section.bend_deg for section in pipe.sections)


def _in_words(section: PipeSection, units: Units) -> str:
    bend = f", bent through {section.bend_deg:g}°, drawn straight" if section.bend_deg else ""
    long, start, end = (length(mm, units, None) for mm in (section.length_mm, section.start_mm, section.end_mm))
    return f"{section.name or 'section'}, {long} long, inside diameter {start} to {end}{bend}"


def _description(pipe: Pipe) -> str:
    sections = ". ".join(_in_words(section, pipe.units) for section in pipe.sections)
    whole = length(pipe.length_mm, pipe.units, None)
    return f"The pipe from the port face to its open end, {whole} long in all. {sections}."
