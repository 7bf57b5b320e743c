"""Which line of a TOML file a value stands on, so that a refusal can point at it.

The standard reader throws line numbers away. This walks the tokens of a text which that reader has accepted: headers,
keys, and the elements of arrays and inline tables, however they are broken over lines.
"""

import re
import tomllib
from collections import deque
from collections.abc import Iterator

Location = tuple[str | int, ...]

_TOKEN = re.compile(
    r'"""(?:\\[\s\S]|[^\\])*?"""(?:"{0,2})'  # up to two quotation marks may stand right before the closing three
    r"|'''[\s\S]*?'''(?:'{0,2})"
    r'|"(?:\\.|[^"\\\n])*"'
    r"|'[^'\n]*'"
    r"|#[^\n]*|\n|[\[\]{},=]|[^\s\[\]{},=#\"']+"
)
_Tokens = deque[tuple[str, int]]


def lines_by_location(text: str) -> dict[Location, int]:
    """Map each table, key and array element to its line, counted from 1; array elements count from 0.

    text : TOML that tomllib accepts; of anything else the answer means nothing.

    >>> lines_by_location("[crank]\\nstroke_mm = 50.0")
    {('crank',): 1, ('crank', 'stroke_mm'): 2}
    """
    found: dict[Location, int] = {}
    latest: dict[Location, int] = {}  # of each array of tables, the index of its last element
    table: Location = ()
    tokens = deque(_tokens(text))
    while tokens:
        token, line = tokens[0]
        if token == "\n":
            tokens.popleft()
        elif token == "[":
            tokens.popleft()
            in_array = tokens[0][0] == "["
            if in_array:
                tokens.popleft()
            table = _resolved(_key(tokens, "]"), latest)
            if in_array:
                tokens.popleft()
                latest[table] = latest.get(table, -1) + 1
                table = (*table, latest[table])
            _note(found, table, line)
        else:
            _pair(tokens, table, found)
    return found


def line_of(location: Location, lines: dict[Location, int]) -> int | None:
    """Line of a location, or of the nearest enclosing one that is known."""
    for end in range(len(location), 0, -1):
        if location[:end] in lines:
            return lines[location[:end]]
    return None


def _tokens(text: str) -> Iterator[tuple[str, int]]:
    """The tokens with their lines; comments are left out."""
    line = 1
    for match in _TOKEN.finditer(text):
        if not match[0].startswith("#"):
            yield match[0], line
        line += match[0].count("\n")


def _note(found: dict[Location, int], location: Location, line: int) -> None:
    """Remember the first line of a location, and of what encloses it: `a.b = 1` begins the table `a`, too."""
    for end in range(1, len(location) + 1):
        found.setdefault(location[:end], line)


def _key(tokens: _Tokens, end: str) -> Location:
    """Take a dotted key and the `end` after it off the tokens."""
    parts: list[str] = []
    while (token := tokens.popleft()[0]) != end:
        if token[0] in "\"'":
            parts.append(tomllib.loads(f"key = {token}")["key"])
        else:
            parts.extend(part for part in token.split(".") if part)
    return tuple(parts)


def _resolved(parts: Location, latest: dict[Location, int]) -> Location:
    """A header below an array of tables means its latest element: [squish.x] after [[squish]]."""
    path: Location = ()
    for part in parts[:-1]:
        path = (*path, part)
        if path in latest:
            path = (*path, latest[path])
    return (*path, parts[-1])


def _pair(tokens: _Tokens, table: Location, found: dict[Location, int]) -> None:
    line = tokens[0][1]
    here = (*table, *_key(tokens, "="))
    _note(found, here, line)
    _value(tokens, here, found)


def _value(tokens: _Tokens, here: Location, found: dict[Location, int]) -> None:
    """Take one value off the tokens, noting the lines of what is inside it."""
    opening, _ = tokens.popleft()
    if opening not in ("[", "{"):
        while tokens and tokens[0][0] not in (",", "]", "}", "\n"):
            tokens.popleft()  # a date and a time may stand apart
        return
    index = 0
    while (token := tokens[0][0]) not in ("]", "}"):
        if token in ("\n", ","):
            tokens.popleft()
            index += token == ","
        elif opening == "[":
            _note(found, (*here, index), tokens[0][1])
            _value(tokens, (*here, index), found)
        else:
            _pair(tokens, here, found)
    tokens.popleft()
