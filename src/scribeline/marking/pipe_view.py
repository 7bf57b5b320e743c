"""The exhaust pipe drawn to scale: every section with its length and its diameters, bends straightened."""

from collections.abc import Sequence
from dataclasses import dataclass

from scribeline.marking.drafting import customary_scale, scale_words
from scribeline.marking.labels import Label, rail, wrapped
from scribeline.marking.shapes import (
    NOTE_MM,
    Dimension,
    Drawing,
    Group,
    Polyline,
    group,
    lettering,
    line,
    polygon,
)

_PAPER_MM = 180.0  # the pipe is reduced until it is no longer
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
    """What the view of the pipe shows, port face first."""

    sections: tuple[PipeSection, ...]
    name: str = "pipe"

    @property
    def length_mm(self) -> float:
        return sum(section.length_mm for section in self.sections)


def pipe_view(pipe: Pipe) -> Drawing:
    """The pipe lying along its middle line, at the largest customary scale that fits."""
    scale = customary_scale(pipe.length_mm, _PAPER_MM)
    widest = 0.5 * scale * max(max(section.start_mm, section.end_mm) for section in pipe.sections)
    groups: list[Group] = []
    lengths, diameters = [], []
    joints = [0.0]
    for number, section in enumerate(pipe.sections, start=1):
        left, right = joints[-1], joints[-1] + scale * section.length_mm
        start, end = 0.5 * scale * section.start_mm, 0.5 * scale * section.end_mm
        shell = polygon((left, -start), (right, -end), (right, end), (left, start))
        groups.append(group("outline", shell, fill="wash", about=_in_words(section, number)))
        bend = [f"bend {section.bend_deg:g}°"] if section.bend_deg else []
        words = (*wrapped(_name(section, number), _LABEL_MM), f"{section.length_mm:g}", *bend)
        lengths.append(Label((0.5 * (left + right), -widest - _CLEAR_MM), words))
        joints.append(right)
    for x, words, radius in _joints(pipe.sections, joints, scale):
        diameters.append(Label((x, radius), (words,)))
    below, above = -widest - _CLEAR_MM, widest + _CLEAR_MM
    ends = list(zip(joints, joints[1:], strict=False))
    groups += [
        group("centre", line((-4.0, 0), (joints[-1] + 4.0, 0))),
        group("dimension", *(Dimension((a, below), (b, below), "") for a, b in ends),
              *(line((x, below + _CLEAR_MM - 0.7), (x, below - 1.2)) for x in joints)),
        *rail(diameters, base_mm=above - 3.0, left_mm=-12.0, right_mm=joints[-1] + 12.0, side="above"),
        *rail(lengths, base_mm=below - 2.0, left_mm=-12.0, right_mm=joints[-1] + 12.0, side="below"),
    ]  # fmt: skip
    return Drawing(pipe.name, "The exhaust pipe", "", tuple(groups), scale)
