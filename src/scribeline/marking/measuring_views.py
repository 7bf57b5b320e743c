"""The drawings of the how-to pages: one for each kind of measurement, by name, and all of them as files.

    python -m scribeline.marking.measuring_views docs/pictures

writes every drawing to a folder; a test holds the committed files to what is drawn here.
"""

import sys
from collections.abc import Callable, Mapping
from pathlib import Path
from types import MappingProxyType

from scribeline.errors import SheetError
from scribeline.marking import measuring_barrel, measuring_breathing, measuring_parts
from scribeline.marking.shapes import Drawing
from scribeline.marking.svg import write_svg

_DRAWINGS: Mapping[str, Callable[[], Drawing]] = MappingProxyType(
    {
        "deck-clearance": measuring_barrel.deck_clearance,
        "bore": measuring_barrel.bore,
        "squish": measuring_barrel.squish,
        "port-height": measuring_barrel.port_height,
        "port-width": measuring_barrel.port_width,
        "rubbing": measuring_barrel.rubbing,
        "head-volume": measuring_parts.head_volume,
        "degree-wheel": measuring_parts.degree_wheel_and_stop,
        "rod-length": measuring_parts.rod_length,
        "skirt-length": measuring_parts.skirt_length,
        "crankcase-volume": measuring_parts.crankcase_volume,
        "rolling-circumference": measuring_parts.rolling_circumference,
        "pipe-sections": measuring_breathing.pipe_sections,
        "intake-parts": measuring_breathing.intake_parts,
    }
)

MEASUREMENTS = tuple(_DRAWINGS)
"""Names of all measurements that have a drawing."""


def measuring_drawing(name: str) -> Drawing:
    """The drawing that shows how one thing is measured. Raises SheetError for a name without a drawing.

    >>> measuring_drawing("squish").title
    'Measuring the squish gap with solder'
    """
    if name not in _DRAWINGS:
        raise SheetError(f"there is no drawing of {name!r}; there are: {', '.join(MEASUREMENTS)}")
    return _DRAWINGS[name]()


def write_pictures(folder: Path) -> list[Path]:
    """Write every drawing as NAME.svg into a folder, which is made where it is missing."""
    folder.mkdir(parents=True, exist_ok=True)
    written = [folder / f"{name}.svg" for name in MEASUREMENTS]
    for path, name in zip(written, MEASUREMENTS, strict=True):
        path.write_text(write_svg(measuring_drawing(name)), encoding="utf-8")
    return written


if __name__ == "__main__":
    for path in write_pictures(Path(sys.argv[1])):
        print(path)
