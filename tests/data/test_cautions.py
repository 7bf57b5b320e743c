"""The cautions: complete, in our own words, found by the kind of output. Which goes where is held against
tests/reference/10_safety.toml in tests/reference/test_10_safety.py."""

import doctest
import re
import tomllib
from importlib.resources import files
from pathlib import Path

import pytest

from scribeline.data import cautions as module
from scribeline.data.cautions import all_cautions, cautions_for

REFERENCE = tomllib.loads((Path(__file__).parents[1] / "reference" / "10_safety.toml").read_text(encoding="utf-8"))
PROVENANCE = files("scribeline.data").joinpath("cautions.provenance.md").read_text(encoding="utf-8")


def sentences(text: str) -> set[str]:
    """Sentences and clauses in small letters without marks."""
    return {" ".join(re.findall(r"\w+", part)) for part in re.split(r"[.;:]", text.lower())} - {""}


def runs(text: str, length: int = 6) -> set[str]:
    """Every run of so many words."""
    words = re.findall(r"\w+", text.lower())
    return {" ".join(words[i : i + length]) for i in range(len(words) - length + 1)}


def test_examples_in_the_docstrings() -> None:
    results = doctest.testmod(module)
    assert (results.attempted, results.failed) == (1, 0)


@pytest.mark.parametrize("key", list(all_cautions()))
def test_every_caution_says_something_and_goes_somewhere(key: str) -> None:
    caution = all_cautions()[key]
    assert caution.key == key
    assert len(caution.text.split()) >= 10
    assert caution.text.endswith(".")
    assert caution.goes_on


@pytest.mark.parametrize("key", list(all_cautions()))
def test_the_words_are_our_own(key: str) -> None:
    theirs = " ".join(check["what"] for check in REFERENCE["check"])
    ours = all_cautions()[key].text
    assert sentences(ours) & sentences(theirs) == set()
    assert runs(ours) & runs(theirs) == set()


def test_a_copied_sentence_would_be_seen() -> None:
    theirs = REFERENCE["check"][0]["what"]
    assert sentences(f"Mind this. {theirs}") & sentences(theirs)
    assert runs(f"mind: {theirs}") & runs(theirs)


def test_cautions_for_one_kind_stand_in_the_order_of_the_table_with_those_for_all() -> None:
    measure = [caution.key for caution in cautions_for("measure")]
    assert measure == ["coatings", "fuel", "rotating-parts", "piston-stop", "professional"]
    assert measure == [key for key in all_cautions() if key in measure]


def test_cautions_for_several_kinds_stand_once() -> None:
    both = [caution.key for caution in cautions_for("measure", "run-test")]
    assert len(both) == len(set(both))
    assert set(both) == {c.key for c in cautions_for("measure")} | {c.key for c in cautions_for("run-test")}


def test_an_output_of_no_known_kind_still_carries_those_for_all() -> None:
    assert [caution.key for caution in cautions_for()] == ["professional"]
    assert [caution.key for caution in cautions_for("postcard")] == ["professional"]


def test_the_table_cannot_be_changed_by_its_readers() -> None:
    assert all_cautions() is all_cautions()
    with pytest.raises(TypeError):
        all_cautions()["eyes"] = all_cautions()["dust"]  # type: ignore[index]


def test_the_provenance_page_names_its_published_sources() -> None:
    for key in re.findall(r"^  - `([\w-]+)`", PROVENANCE, re.MULTILINE):
        assert key in all_cautions()
    assert "NIOSH" in PROVENANCE
    assert "scribeline authors, 2026-11-25" in PROVENANCE
