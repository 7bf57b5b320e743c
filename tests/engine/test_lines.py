import tomllib
from collections.abc import Iterator
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scribeline.engine.lines import Location, line_of, lines_by_location
from tests.engine.samples import SOUND

# In each text every number stands once, so that the line of a value can be looked up in the text itself.
AWKWARD = {
    "comments": "# [crank] = { [ \n[crank] # not [cylinder]\na = 11 # ] } \"\"\" ''' it's\n# it's [[ \nb = 12\n",
    "arrays": 'a = [ 11,\n  12, # , ] [\n\n  [ 13, 14,\n 15 ],\n  "],", { x = 16, y = [\n17 ] },\n]\nb = 18\n',
    "long strings": 'a = """[x]\nb = 1\n\\""" c = 2 """\nd = 11\ne = \'\'\'\n[y]\n"""\n\'\'\'\nf = 12\n',
    "quotes beside long strings": 'a = """"x""""" # "\nb = 11\nc = [ """\n,,,\n""", 12 ]\nd = """a [ b"""\ne = 13\n',
    "tables below arrays of tables": "[[a]]\nx = 11\n[a.b]\ny = 12\n[[a.c]]\nz = 13\n[[a.c]]\nz = 14\n[[a]]\n"
    "[a.b]\ny = 15\n[[a.c]]\nz = 16\n[a.c.d.e]\nw = 17\n",
    "dotted keys": 'a.b.c = 11\na.b.d = 12\n[x.y]\nz . w = 13\n"u.v" = 14\n\'s\'."t".r = 15\n',
    "inline tables": "a = { b = 11, c = { d = 12, e = [13, 14] } }\nf = [{ g = 15 }, { g = 16,\th.i = 17 }]\n",
    "headers with blanks": "[ a . b ]\nc = 11\n[[ 'd' ]]\ne = 12\n  [ \"f g\" ]  # h\n\ti = 13\n",
    "dates and numbers": "a = 2001-02-03 04:05:06 # 1\nb = 11\nc = [ 2001-02-03 04:05:06, 12 ]\nd = -1e-3\ne = +inf\n",
    "other line ends": "a = 11\r\nb = [\r\n12,\r\n13]\r\n# \u2028 \x85\r\nc = '\u2028'\r\nd = 14\r\n",
}


def leaves(value: Any, place: Location = ()) -> Iterator[tuple[Location, Any]]:
    if isinstance(value, dict | list):
        for part, one in value.items() if isinstance(value, dict) else enumerate(value):
            yield from leaves(one, (*place, part))
    else:
        yield place, value


def assert_every_number_is_found(text: str) -> None:
    lines = lines_by_location(text)
    rows = text.split("\n")
    for place, value in leaves(tomllib.loads(text)):
        assert place in lines, f"{place} has no line"
        if type(value) is int:
            assert str(value) in rows[lines[place] - 1], f"{place} is not on line {lines[place]}"


@pytest.mark.parametrize("text", [*AWKWARD.values(), SOUND], ids=[*AWKWARD, "the sample"])
def test_every_value_is_found_on_its_line(text: str) -> None:
    if text is SOUND:
        assert set(dict(leaves(tomllib.loads(text)))) <= set(lines_by_location(text))
    else:
        assert_every_number_is_found(text)


def test_tables_and_elements_of_arrays_have_lines_too() -> None:
    text = "[[ports]]\nname = 'a'\n\n[[ports]]\nout = [\n  [1, 2],\n  [3, 4],\n]\n[x.y]\n"
    lines = lines_by_location(text)
    assert lines[("ports", 0)] == 1
    assert lines[("ports", 1)] == 4
    assert lines[("ports", 1, "out", 1)] == 7
    assert lines[("x",)] == lines[("x", "y")] == 9


def test_a_table_begun_by_a_dotted_key_has_the_line_of_that_key() -> None:
    assert lines_by_location("x = 1\na.b.c = 2\na.d = 3\n")[("a",)] == 2


def test_what_is_not_in_the_file_has_the_line_of_what_encloses_it() -> None:
    lines = lines_by_location("[crank]\nstroke_mm = 50\n")
    assert line_of(("crank", "rod_length_mm"), lines) == 1
    assert line_of(("crank", "stroke_mm", "value"), lines) == 2
    assert line_of(("cylinder", "bore_mm"), lines) is None


# A random text is put together from these, with line breaks and misleading comments wherever TOML allows them.
_keys = st.sampled_from(["a", "b-2", '"c.d"', "'e ] ['", '"f\\"#"'])
_breaks = st.sampled_from(["", " ", "\n", " # ] } , [ \n", "\n\n\t", ' # """ \n', "# it's\n"])
_strings = st.sampled_from(['"x"', "'y#'", '"""\n[z]\nq = 1"""', "'''\n\"\"\"\n'''", '"\\" ] # "', "true"])


@st.composite
def _values(draw: st.DrawFn, counter: list[int], depth: int = 0, inline: bool = False) -> str:
    kind = draw(st.integers(0, 3 if depth < 3 else 1))
    if kind == 0:
        counter[0] += 1
        return str(counter[0])
    if kind == 1:
        return draw(_strings)
    inner = [draw(_values(counter, depth + 1, inline=kind == 3)) for _ in range(draw(st.integers(0, 3)))]
    if kind == 2:
        separated = f"{draw(_breaks)},{draw(_breaks)}".join(inner)
        return f"[{draw(_breaks)}{separated}{draw(_breaks)}]"
    names = draw(st.lists(_keys, min_size=len(inner), max_size=len(inner), unique=True))
    return "{ " + ", ".join(f"{name} = {value}" for name, value in zip(names, inner, strict=True)) + " }"


@st.composite
def _texts(draw: st.DrawFn) -> str:
    counter = [100]
    rows = []
    for table in range(draw(st.integers(0, 4))):
        rows.append(draw(st.sampled_from([f"[t{table}]", "[[list]]", f"[[deep.t{table}]]", f"[x.'y.z'.t{table}]"])))
        for key in draw(st.lists(_keys, max_size=3, unique=True)):
            rows.append(f"{key} = {draw(_values(counter))}{draw(st.sampled_from(['', '  # [', ' # } ,']))}")
    return "\n".join(rows)


@settings(deadline=None, max_examples=150)
@given(_texts())
def test_every_number_of_a_random_text_is_found_on_its_line(text: str) -> None:
    assert_every_number_is_found(text)
