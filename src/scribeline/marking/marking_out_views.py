"""The drawings of the page on printing and marking out, by name, and all of them as files. Schematic, not to scale.

    python -m scribeline.marking.marking_out_views docs/pictures

writes every drawing to a folder; a test holds the committed files to what is drawn here.
"""

import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from types import MappingProxyType

from scribeline.marking.check_bars import bars
from scribeline.marking.instruments import caliper
from scribeline.marking.labels import Label, column
from scribeline.marking.moving import moved
from scribeline.marking.parts import barrel
from scribeline.marking.shapes import (
    NAME_MM,
    Dimension,
    Drawing,
    group,
    lettering,
    line,
    path,
    polygon,
    rectangle,
    rounded_rectangle,
)
from scribeline.marking.svg import write_svg


def print_check() -> Drawing:
    """A printed sheet with its four bars, a caliper on one of them."""
    small = [*moved(bars((22.0, 13.0), up=False), scale=0.55), *moved(bars((9.0, 22.0), up=True), scale=0.55)]
    left, bar = 0.55 * 22.0, 0.55 * 13.0
    groups = [
        group("outline", rectangle(0, 0, 84, 92), fill="paper", about="the printed sheet"),
        group("edge", rounded_rectangle(32, 50, 60, 68, (5, 5, 5, 5)), about="what it is a template of"),
        *small,
        *caliper((left, bar + 0.6), 55.0, reach=9.0),
    ]
    labels = [
        Label((left, bar), ("from the middle", "of this end line")),
        Label((left + 55.0, bar), ("to the middle of this one:", "100.0 mm")),
        Label((left + 0.55 * 101.6, bar - 3.85), ("and the other bar:", "4.000 in")),
        Label((0.55 * 9.0, 62.0), ("the same for both", "bars that go up")),
    ]
    groups += column(labels[1:3], edge_mm=88.0, side="right", dots=True)
    groups += column([labels[0], labels[3]], edge_mm=-4.0, side="left", dots=True)
    return Drawing(
        "print-check",
        "Measuring the check bars",
        "A printed sheet with two bars across and two up the paper. A caliper reaches from the middle of one end line "
        "of the 100 mm bar to the middle of the other.",
        tuple(groups),
    )


def wrap_in_bore() -> Drawing:
    """The wrap in the barrel, its upper edge on the deck, a scriber at the roof of a port."""
    bore, half = 46.0, 23.0
    tip = (half - 1.2, -22.0)
    scriber = polygon(tip, (tip[0] - 5.2, tip[1] + 6.4), (tip[0] - 18.0, tip[1] + 30.0), (tip[0] - 20.2, tip[1] + 28.8),
                      (tip[0] - 7.0, tip[1] + 5.4))  # fmt: skip
    groups = [
        *barrel(0, 0, bore, 52.0, right=((22.0, 38.0),)),
        group("target", path((-half + 1.0, 0), (-half + 1.0, -50.0)), path((half - 1.0, 0), (half - 1.0, -22.0)),
              path((half - 1.0, -38.0), (half - 1.0, -50.0)), about="the wrap against the bore wall"),
        group("tool", scriber, fill="paper", about="scriber"),
        group("measured", Dimension((half + 14.0, -22.0), (half + 14.0, 0), "as on the cut list", -5.0, NAME_MM,
                                    along=False), line((half, -22.0), (half + 14.0, -22.0))),
    ]  # fmt: skip
    labels = [
        Label((-half + 1.0, 0.0), ("upper edge flush", "with the deck, all round")),
        Label((-half + 1.0, -28.0), ("the wrap: its short edges", "just meet, no overlap")),
    ]
    groups += column(labels, edge_mm=-40.0, side="left", dots=True)
    groups.append(group("note", *lettering((-14.0, 24.0), ("scriber along the edge", "of the cut-out window"),
                                           anchor="middle")))  # fmt: skip
    return Drawing(
        "wrap-in-bore",
        "The wrap in the bore",
        "A section through the barrel. The printed wrap lies against the bore wall, its upper edge flush with the "
        "barrel's top face. A scriber follows the roof of a port along the edge of the window cut out of the wrap.",
        tuple(groups),
    )


def stop_and_target() -> Drawing:
    """The upper edge of a port with its three lines."""
    groups = [
        group("today", rounded_rectangle(0, -40, 64, -14, (0, 0, 9, 9)), fill="wash", about="the port as it is"),
        group("stop", rounded_rectangle(-3.5, -40, 67.5, -6.5, (0, 0, 11, 11)), about="stop line"),
        group("target", rounded_rectangle(-6, -40, 70, 0, (0, 0, 13, 13)), about="target"),
    ]
    labels = [
        Label((70.0, -18.0), ("target, full: file up to", "the middle of this line")),
        Label((67.5, -27.0), ("stop line, dotted: the coarse", "tool ends here; measure")),
        Label((64.0, -36.0), ("as it is today, dashed",)),
    ]
    groups += column(labels, edge_mm=76.0, side="right", dots=True)
    return Drawing(
        "stop-and-target",
        "Today, stop line and target",
        "The upper edge of a port, enlarged. Dashed, the edge as it is; dotted, the stop line a little short of the "
        "target; full and thick, the target.",
        tuple(groups),
    )


VIEWS: Mapping[str, Callable[[], Drawing]] = MappingProxyType(
    {"print-check": print_check, "wrap-in-bore": wrap_in_bore, "stop-and-target": stop_and_target}
)
"""Every drawing by its name."""


def write_pictures(folder: Path) -> list[Path]:
    """Write every drawing as NAME.svg into a folder, which is made where it is missing."""
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for name, draw in VIEWS.items():
        written.append(folder / f"{name}.svg")
        written[-1].write_text(write_svg(draw()), encoding="utf-8")
    return written


if __name__ == "__main__":
    for path_written in write_pictures(Path(sys.argv[1])):
        print(path_written)
