"""Which line of a TOML file a value stands on, so that a refusal can point at it.

The standard reader throws line numbers away. This walks the text once, following table headers, keys and arrays that
run over several lines; it understands what a record needs and falls back to the enclosing key for anything finer.
"""

import re

Location = tuple[str | int, ...]

_HEADER = re.compile(r"^\s*(\[\[?)\s*([^\]]+?)\s*\]\]?\s*(?:#.*)?$")
_KEY = re.compile(r"^\s*((?:[A-Za-z0-9_-]+|\"[^\"]*\")(?:\s*\.\s*(?:[A-Za-z0-9_-]+|\"[^\"]*\"))*)\s*=\s*(.*)$")
_QUOTED = re.compile(r'"(?:\\.|[^"\\])*"|\'[^\']*\'')


def _parts(dotted: str) -> Location:
    return tuple(part.strip().strip('"') for part in dotted.split("."))


def lines_by_location(text: str) -> dict[Location, int]:
    """Map each table, key and array element to its line, counted from 1; array elements count from 0."""
    found: dict[Location, int] = {}
    counts: dict[Location, int] = {}
    table: Location = ()
    array: Location | None = None
    depth = element = 0
    in_long_string = False
    for number, raw in enumerate(text.splitlines(), start=1):
        if raw.count('"""') % 2 or raw.count("'''") % 2:
            in_long_string = not in_long_string
            if not in_long_string:
                continue
        elif in_long_string:
            continue
        line = _QUOTED.sub('""', raw).split("#", 1)[0]
        if array is None:
            if header := _HEADER.match(line):
                table = _resolve(_parts(header[2]), counts)
                if header[1] == "[[":
                    index = counts.get(table, -1) + 1
                    counts[table] = index
                    table = (*table, index)
                found.setdefault(table, number)
                continue
            key = _KEY.match(line)
            if key is None:
                continue
            here = (*table, *_parts(key[1]))
            found[here] = number
            line = key[2]
            array, depth, element = here, 0, 0
        depth, element = _follow(line, array, depth, element, found, number)
        if depth <= 0:
            array = None
    return found


def _resolve(parts: Location, counts: dict[Location, int]) -> Location:
    """A header below an array of tables means its latest element: [squish.x] after [[squish]]."""
    path: Location = ()
    for part in parts[:-1]:
        path = (*path, part)
        if path in counts:
            path = (*path, counts[path])
    return (*path, parts[-1])


def _follow(
    line: str, array: Location, depth: int, element: int, found: dict[Location, int], number: int
) -> tuple[int, int]:
    """Count brackets and commas of a value; remember on which line each element of the outer array begins."""
    for character in line:
        if character in "[{":
            if depth == 1:
                found.setdefault((*array, element), number)
            depth += 1
        elif character in "]}":
            depth -= 1
        elif character == "," and depth == 1:
            element += 1
        elif depth == 1 and not character.isspace():
            found.setdefault((*array, element), number)
    return depth, element


def line_of(location: Location, lines: dict[Location, int]) -> int | None:
    """Line of a location, or of the nearest enclosing one that is known."""
    for end in range(len(location), 0, -1):
        if location[:end] in lines:
            return lines[location[:end]]
    return None
