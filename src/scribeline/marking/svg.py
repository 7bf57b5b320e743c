"""Writes a drawing as SVG: true to size, light and dark, needing nothing from anywhere else.

The picture's own units are the drawing's millimetres with y turned downwards, and its width and height are stated in
millimetres, so that 100 percent means the drawing's scale. Numbers are written to a thousandth of a millimetre; the
same drawing always gives the same text.

A page can change the colours by setting --drawing-paper, --drawing-ink, --drawing-faint, --drawing-accent,
--drawing-wash and --drawing-accent-wash; a program that knows no such variables shows the light ones.
"""

import math
import re
from collections.abc import Iterable, Mapping
from typing import get_args
from xml.sax.saxutils import escape

from scribeline.errors import SheetError
from scribeline.marking.drafting import (
    CAPITALS_PER_EM,
    dimension_parts,
    edge_circle,
    extent,
    hatch_lines,
)
from scribeline.marking.page import Page
from scribeline.marking.shapes import PENS, Circle, Drawing, Fill, Group, Hatch, Polyline, Role, Shape, Text, polar

# Each colour on light and on dark paper.
_COLOURS = {
    "paper": ("#fbf9f4", "#15191d"),
    "ink": ("#1e2a33", "#e4ded1"),
    "faint": ("#75808a", "#8d959b"),
    "accent": ("#a8321e", "#ff8f6b"),
    "wash": ("#e3e4e0", "#2b333a"),
    "accent-wash": ("#f3d9cf", "#4b2a20"),
}
# The same on white paper: black, and one dark red that a printer without colour makes a dark grey.
PRINTED = {
    "paper": "#ffffff",
    "ink": "#000000",
    "faint": "#555555",
    "accent": "#a3200d",
    "wash": "#e9e9e9",
    "accent wash": "#f6e4de",
}
_FILLS: dict[Fill, str] = {fill: fill.replace(" ", "-") for fill in get_args(Fill)}
_NAME = re.compile("[a-z][a-z0-9-]*")
# What XML 1.0 cannot hold, not even escaped.
_FORBIDDEN = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def style(roles: Iterable[Role] = tuple(PENS)) -> str:
    """The style rules for groups of these roles: put them once on a page whose drawings are written `inline`."""
    light = ";".join(f"--{name}:var(--drawing-{name},{colour})" for name, (colour, _) in _COLOURS.items())
    dark = ";".join(f"--{name}:var(--drawing-{name},{colour})" for name, (_, colour) in _COLOURS.items())
    rules = [
        f".drawing{{{light}}}",
        f"@media(prefers-color-scheme:dark){{.drawing{{{dark}}}}}",
        ".drawing g{stroke:currentColor;stroke-linecap:round;stroke-linejoin:round}",
        ".drawing path,.drawing circle{fill:none}",
        ".drawing text{font-family:Arial,'Liberation Sans','DejaVu Sans',sans-serif}",
        ".drawing text,.drawing .head{fill:currentColor;stroke:none}",
        f".drawing .sheet{{{_coloured('fill', 'paper')}}}",
    ]
    for name in _FILLS.values():
        rules.append(f".drawing .{name}-fill>*{{{_coloured('fill', name)}}}")
    for role in sorted(roles, key=list(PENS).index):
        pen = PENS[role]
        dashes = f";stroke-dasharray:{' '.join(map(_number, pen.dashes_mm))}" if pen.dashes_mm else ""
        rules.append(
            f".drawing .{_slug(role)}{{{_coloured('color', pen.ink)};stroke-width:{_number(pen.width_mm)}{dashes}}}"
        )
    return "\n".join(rules)


def write_svg(drawing: Drawing, *, inline: bool = False) -> str:
    """A drawing as SVG text: a file of its own, or `inline` for a page that holds `style()` itself.

    Raises SheetError for a name that cannot be an identifier and for a coordinate that is not a finite number.

    >>> from scribeline.marking.shapes import group, line
    >>> drawing = Drawing("rule", "A rule", "A line of 100 mm.", (group("outline", line((0, 0), (100, 0))),))
    >>> write_svg(drawing).splitlines()[0].split(" role")[0].partition(" class=")[2]
    '"drawing" width="108mm" height="8mm" viewBox="-4 -4 108 8"'
    """
    if not _NAME.fullmatch(drawing.name):
        raise SheetError(f"a drawing cannot be named {drawing.name!r}: lower-case letters, digits and hyphens only")
    box = extent(drawing)
    left, top = round(box.left, 3), round(-box.top, 3)
    width, height = round(box.width, 3), round(box.height, 3)
    size = f'width="{_number(width)}mm" height="{_number(height)}mm"'
    view = f'viewBox="{_number(left)} {_number(top)} {_number(width)} {_number(height)}"'
    names = f'aria-labelledby="{drawing.name}-title {drawing.name}-desc"'
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" class="drawing" {size} {view} role="img" {names}>',
        f'<title id="{drawing.name}-title">{_words(drawing.title)}</title>',
        f'<desc id="{drawing.name}-desc">{_words(drawing.description)}</desc>',
    ]
    if not inline:
        out.append(f"<style>\n{style({one.role for one in drawing.groups})}\n</style>")
        sheet = f'x="{_number(left)}" y="{_number(top)}" width="{_number(width)}" height="{_number(height)}"'
        out.append(f'<rect class="sheet" {sheet}/>')
    out += [_group(one) for one in drawing.groups]
    out.append("</svg>\n")
    return "\n".join(out)


def write_page_svg(page: Page) -> str:
    """One page as an SVG file of the paper's size, black on white whatever the screen's colours are.

    Raises SheetError as `write_svg` does, and for a page without its check bars.
    """
    furniture, drawing, paper, window = page.proved, page.sheet.drawing, page.paper, page.window
    width, height = _number(paper.width_mm), _number(paper.height_mm)
    across, up = page.printer.factors
    # y is turned downwards about the lower edge of the paper; the correction leaves its middle where it is.
    middle = 0.5 * paper.width_mm * (1.0 - across), 0.5 * paper.height_mm * (1.0 + up)
    whole = f"matrix({across:.9g} 0 0 {up:.9g} {middle[0]:.9g} {middle[1]:.9g})"
    cut = f'x="{_number(window.left)}" y="{_number(-window.top)}" width="{_number(window.width)}"'
    roles = {one.role for one in (*furniture, *drawing.groups)}
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" class="drawing" width="{width}mm" height="{height}mm" '
            f'viewBox="0 0 {width} {height}" role="img" aria-labelledby="{page.name}-title {page.name}-desc">',
            f'<title id="{page.name}-title">{_words(drawing.title)}</title>',
            f'<desc id="{page.name}-desc">{_words(drawing.description)}</desc>',
            f"<style>\n{_plain_style(roles, PRINTED)}\n</style>",
            f'<rect class="sheet" width="{width}" height="{height}"/>',
            f'<clipPath id="{page.name}-window"><rect {cut} height="{_number(window.height)}"/></clipPath>',
            f'<g transform="{whole}">',
            f'<g clip-path="url(#{page.name}-window)">',
            f'<g transform="translate({page.shift[0]:.9g} {-page.shift[1]:.9g})">',
            *(_group(one) for one in drawing.groups),
            "</g></g>",
            *(_group(one) for one in furniture),
            "</g>",
            "</svg>\n",
        ]
    )


def write_picture(
    drawing: Drawing, width_mm: float, height_mm: float, *, dark: bool = False, transparent: bool = False
) -> str:
    """A drawing as a picture of a given size with its lower left corner at (0, 0), always light or always dark.

    transparent : without paper, to lay over something else. Otherwise as `write_svg`.
    """
    width, height = _number(width_mm), _number(height_mm)
    colours = {name: both[int(dark)] for name, both in _COLOURS.items()}
    paper = "" if transparent else f'<rect class="sheet" y="-{height}" width="{width}" height="{height}"/>'
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" class="drawing" width="{width}mm" height="{height}mm" '
            f'viewBox="0 -{height} {width} {height}" role="img" '
            f'aria-labelledby="{drawing.name}-title {drawing.name}-desc">',
            f'<title id="{drawing.name}-title">{_words(drawing.title)}</title>',
            f'<desc id="{drawing.name}-desc">{_words(drawing.description)}</desc>',
            f"<style>\n{_plain_style({one.role for one in drawing.groups}, colours)}\n</style>",
            paper,
            *(_group(one) for one in drawing.groups),
            "</svg>\n",
        ]
    )


def _plain_style(roles: Iterable[Role], named: Mapping[str, str]) -> str:
    """The style rules with these colours in place of variables."""
    rules = style(roles).splitlines()
    colours = {name.replace(" ", "-"): colour for name, colour in named.items()}
    plain = [
        re.sub(r"([\w-]+):#\w+;\1:var\(--([\w-]+)\)", lambda m: f"{m[1]}:{colours[m[2]]}", one) for one in rules[2:]
    ]
    return "\n".join(plain)


def _group(one: Group) -> str:
    fill = f" {_FILLS[one.fill]}-fill" if one.fill else ""
    title = f"<title>{_words(one.about)}</title>" if one.about else ""
    moves = f' data-moves="{one.moves}"' if one.moves else ""
    written = "\n".join([f'<g class="{_slug(one.role)}{fill}"{moves}>{title}', *map(_shape, one.shapes), "</g>"])
    if one.window is None:
        return written
    left, bottom, right, top = one.window
    box = f"{_number(left)} {_number(-top)} {_number(right - left)} {_number(top - bottom)}"
    x, y, width, height = box.split()  # an inner picture with the same units cuts off what leaves it
    return f'<svg x="{x}" y="{y}" width="{width}" height="{height}" viewBox="{box}">{written}</svg>'


def _shape(shape: Shape) -> str:
    if isinstance(shape, Polyline):
        return f'<path d="{_path(shape)}"/>'
    if isinstance(shape, Circle):
        x, y = shape.centre
        return f'<circle cx="{_number(x)}" cy="{_number(-y)}" r="{_number(shape.radius_mm)}"/>'
    if isinstance(shape, Text):
        return _text(shape)
    if isinstance(shape, Hatch):
        return f'<path d="{"".join(_path(Polyline(ends)) for ends in hatch_lines(shape))}"/>'
    parts = dimension_parts(shape)
    lines, heads = ("".join(map(_path, some)) for some in (parts.lines, parts.arrows))
    return f'<path d="{lines}"/><path class="head" d="{heads}"/>{"".join(map(_text, parts.words))}'


def _path(polyline: Polyline) -> str:
    x, y = polyline.points[0]
    out = [f"M{_number(x)} {_number(-y)}"]
    edges = polyline.edges()
    for i, (start, (x, y), bulged) in enumerate(edges):
        if bulged:
            centre, radius, from_deg, turn_deg = edge_circle(start, (x, y), bulged)
            # Quarter turns at most: the centre of a longer arc would move with the rounding of its ends.
            quarters = math.ceil(abs(turn_deg) / 90.0 - 1e-9)
            ends = [polar(centre, radius, from_deg + turn_deg * j / quarters) for j in range(1, quarters)]
            # Counter-clockwise stays so when y is turned over, and is what the format calls sweep 0.
            shape = f"A{_number(radius)} {_number(radius)} 0 0 {int(bulged < 0)} "
            out += [f"{shape}{_number(u)} {_number(-v)}" for u, v in [*ends, (x, y)]]
        elif not (polyline.closed and i == len(edges) - 1):
            out.append(f"L{_number(x)} {_number(-y)}")
    return "".join(out) + ("Z" if polyline.closed else "")


def _text(text: Text) -> str:
    x, y = _number(text.at[0]), _number(-text.at[1])
    anchor = "" if text.anchor == "start" else f' text-anchor="{text.anchor}"'
    turn = f' transform="rotate({_number(-text.turned_deg)} {x} {y})"' if text.turned_deg else ""
    size = _number(text.height_mm / CAPITALS_PER_EM)
    weight = ' font-weight="bold"' if text.bold else ""
    return f'<text x="{x}" y="{y}" font-size="{size}"{weight}{anchor}{turn}>{_words(text.words)}</text>'


def _number(value: float) -> str:
    """To a thousandth, without trailing zeros and without a minus zero."""
    if not math.isfinite(value):
        raise SheetError("a drawing holds a coordinate that is not a number: a value it was made from is missing")
    written = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if written == "-0" else written


def _words(words: str) -> str:
    return escape(_FORBIDDEN.sub("\N{REPLACEMENT CHARACTER}", words))


def _slug(role: Role) -> str:
    return role.replace(" ", "-")


def _coloured(what: str, colour: str) -> str:
    """The light colour for programs that know no variables, then the variable."""
    return f"{what}:{_COLOURS[colour][0]};{what}:var(--{colour})"
