"""Every check of 10_safety.toml: which cautions there are, what they go on, and that the words are our own."""

import re

import pytest

from scribeline.data.cautions import all_cautions, cautions_for
from tests.reference.checks import Check, each, load, not_run

FILE = "10_safety"
LIMITS = "hearing-limits"
OURS_ALONE = {"filming", "before-you-drive"}
"""Cautions that the reference set does not know, each with its origin in cautions.provenance.md."""
PRINTED = tuple(check_id for check_id in load(FILE) if check_id != LIMITS)
# Where each caution must go, key by key, so that one that is dropped from a kind of output is seen.
KINDS = {kind for check_id in PRINTED for kind in load(FILE)[check_id].expected["applies_to"]}


def exactly(*check_ids: str) -> pytest.MarkDecorator:
    """`each` for whole ids: "hearing" is not to take "hearing-limits" with it."""
    return pytest.mark.parametrize("check", [load(FILE)[check_id] for check_id in check_ids], ids=check_ids)


@exactly(*PRINTED)
def test_a_caution_goes_on_the_outputs_that_need_it(check: Check) -> None:
    assert check.expected["required_on_output"] is True
    assert set(all_cautions()[check.id].goes_on) == set(check.expected["applies_to"])


@each(FILE, LIMITS)
def test_the_hearing_guide_is_the_published_one(check: Check) -> None:
    """Our sentence gives the rule by its base, its step and one point; the published table must follow from it."""
    text = all_cautions()[check.id].text
    found = re.search(r"(\d+) hours a day at (\d+) dB\(A\), and half the time for every (\d+) dB more", text)
    assert found is not None
    hours, base_dba, step_db = map(float, found.groups())
    for level_dba, minutes in check.expected["rows"]:
        assert hours * 60.0 * 0.5 ** ((level_dba - base_dba) / step_db) == pytest.approx(minutes, rel=1e-12)
    example = re.search(r"so (\d+) minutes at (\d+) dB\(A\)", text)
    assert example is not None
    assert [float(example[2]), float(example[1])] in check.expected["rows"]
    # the law's limit is laxer, and is not the one we print
    assert base_dba < check.expected["osha_pel_dBA"]
    assert step_db < check.expected["osha_exchange_rate_dB"]
    assert set(all_cautions()[check.id].goes_on) == set(load(FILE)["hearing"].expected["applies_to"])


def test_every_check_is_run() -> None:
    assert not_run(FILE, __name__) == []


def test_no_caution_of_ours_is_without_a_check() -> None:
    assert set(all_cautions()) - OURS_ALONE == set(load(FILE))
    assert set(all_cautions()) >= OURS_ALONE


@pytest.mark.parametrize("kind", sorted(KINDS - {"all"}))
def test_an_output_carries_its_cautions_and_those_for_all(kind: str) -> None:
    needed = {check_id for check_id in PRINTED if {kind, "all"} & set(load(FILE)[check_id].expected["applies_to"])}
    assert {caution.key for caution in cautions_for(kind)} - {LIMITS} - OURS_ALONE == needed
