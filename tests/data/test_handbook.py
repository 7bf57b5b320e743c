"""The handbook table: every entry complete, sourced, cautioned, and listed beside it with its provenance."""

import doctest
import re
from importlib.resources import files

import pytest

from scribeline.data import handbook as module
from scribeline.data.handbook import handbook
from scribeline.sources import SOURCES

PROVENANCE = files("scribeline.data").joinpath("handbook.provenance.md").read_text(encoding="utf-8")
UNIT_ENDINGS = {
    "s cm^2/cm^3": "_s_cm2_per_cm3",
    "deg": "_deg",
    "ft/s": "_ft_s",
    "m": "_m",
    "mm": "_mm",
    "rpm": "_rpm",
    "atm": "_atm",
    "kW/dm^3": "_kw_per_dm3",
    "kg/kW": "_kg_per_kw",
    "g/kWh": "_g_per_kwh",
}


def test_examples_in_the_docstrings() -> None:
    results = doctest.testmod(module)
    assert (results.attempted, results.failed) == (1, 0)


@pytest.mark.parametrize("key", list(handbook()))
def test_every_entry_is_complete(key: str) -> None:
    guide = handbook()[key]
    assert guide.key == key
    assert 0.0 < guide.low <= guide.high
    assert (
        key.endswith(UNIT_ENDINGS[guide.unit]) if guide.unit != "1" else not key.endswith(tuple(UNIT_ENDINGS.values()))
    )
    assert guide.source in SOURCES
    assert guide.provenance_class in {"read", "memory", "read+memory", "common practice"}
    assert (SOURCES[guide.source].kind == "common practice") is (guide.provenance_class == "common practice")
    assert min(len(guide.what), len(guide.provenance), len(guide.caution)) > 10


def test_the_provenance_page_lists_exactly_these_entries() -> None:
    listed = re.findall(r"^\| ([a-z]\w+) \|", PROVENANCE, re.MULTILINE)
    assert [name for name in listed if name != "entry"] == list(handbook())
    assert {guide.source for guide in handbook().values()} == set(
        re.findall(r"^- `([\w-]+)`:", PROVENANCE, re.MULTILINE)
    )
    assert "scribeline authors, 2026-11-25" in PROVENANCE


def test_a_range_has_no_single_value() -> None:
    assert handbook()["wave_speed_ft_s"].value == 1700.0
    with pytest.raises(ValueError, match=r"squish_gap_mm is a range, 0\.5 to 1 mm"):
        _ = handbook()["squish_gap_mm"].value


def test_the_table_cannot_be_changed_by_its_readers() -> None:
    assert handbook() is handbook()
    with pytest.raises(TypeError):
        handbook()["squish_gap_mm"] = handbook()["wave_speed_ft_s"]  # type: ignore[index]
