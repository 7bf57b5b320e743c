"""Writes one of our SVG drawings as a PNG picture, the same on every machine: its own font, no system fonts.

The renderer knows no style variables and no dark paper, so the rules that need them are taken out first; what is left
are the light colours that marking.svg writes beside each.
"""

import importlib.util
import re
from pathlib import Path

from scribeline.errors import SheetError

MOST_PX = 12_000
_DARK = re.compile(r"@media\s*\([^)]*\)\s*\{(?:[^{}]*\{[^{}]*\})*[^{}]*\}")
_VARIABLE = re.compile(r"(?<=[;{])\s*[\w-]+:var\((?:[^()]|\([^()]*\))*\);?")


def write_png(svg: str, *, width_px: int = 1600, background: str | None = "#fbf9f4") -> bytes:
    """A drawing of `marking.svg.write_svg` as PNG bytes, `width_px` wide and as high as its shape asks.

    width_px : 16 to 12000; background : a colour as in SVG, None for a transparent picture. Lettering is DejaVu Sans,
    which covers degrees, fractions and +/-. Raises SheetError for a width outside the range and for what is no SVG.

    >>> from scribeline.marking.shapes import Drawing, group, line
    >>> from scribeline.marking.svg import write_svg
    >>> rule = Drawing("rule", "A rule", "A line of 100 mm.", (group("outline", line((0, 0), (100, 0))),))
    >>> write_png(write_svg(rule), width_px=400)[1:4]
    b'PNG'
    """
    import resvg_py

    if not 16 <= width_px <= MOST_PX:
        raise SheetError(
            f"a picture {width_px} pixels wide\n    accepted: 16 to {MOST_PX}\n    what to do: ask for another width"
        )
    plain = _VARIABLE.sub("", _DARK.sub("", svg))
    try:
        return resvg_py.svg_to_bytes(
            svg_string=plain,
            background=background,
            width=width_px,
            dpi=96.0,
            skip_system_fonts=True,
            font_files=[str(font_file()), str(font_file("DejaVuSans-Bold"))],
            font_family="DejaVu Sans",
            sans_serif_family="DejaVu Sans",
        )
    except ValueError as error:
        raise SheetError(
            f"no picture can be made: {error}\n    accepted: an SVG drawing and a colour as SVG writes it\n    "
            "what to do: write the drawing as SVG and look at it"
        ) from error


def font_file(name: str = "DejaVuSans") -> Path:
    """DejaVu Sans, or its bold, from the data that matplotlib brings; it is found without importing it."""
    spec = importlib.util.find_spec("matplotlib")
    if spec is None or spec.origin is None:
        raise SheetError(
            "no font for pictures: matplotlib, which brings it, is not installed\n    "
            "what to do: install scribeline anew"
        )
    return Path(spec.origin).parent / "mpl-data" / "fonts" / "ttf" / f"{name}.ttf"
