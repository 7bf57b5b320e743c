"""The engine card as JSON and as the working of each number, for both sound demonstration engines."""

import json
import os
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from functools import cache
from math import pi, sqrt
from typing import Any

import pytest

from scribeline.data.cautions import cautions_for
from scribeline.errors import RecordError, WorkingError
from scribeline.geometry.work_out import work_out
from scribeline.sources import SOURCES
from scribeline.tasks.card import agreement_text, card_json, engine_card, engine_card_of_file, explain
from scribeline.units import show
from tests.examples import FOLDER, KART, REED, SOUND, card_of, edited, path_of, text_of

RELIED_ON = [
    "displacement_cc", "exhaust_duration_deg", "transfer_duration_deg", "intake_duration_deg", "blowdown_deg",
    "exhaust_opens_deg_atdc", "transfer_opens_deg_atdc", "compression_ratio_geometric", "compression_ratio_trapped",
    "crankcase_compression_ratio", "trapped_volume_cc", "squish_gap_mm", "squish_velocity_max_m_s",
    "squish_area_ratio", "mean_piston_speed_m_s", "piston_acceleration_max_m_s2", "exhaust_width_share_of_bore",
    "exhaust_time_area_s_mm2", "transfer_time_area_s_mm2", "intake_time_area_s_mm2", "blowdown_time_area_s_mm2",
]  # fmt: skip
UNIT_OF_ENDING = {
    "_cc": "cc", "_deg": "deg", "_deg_atdc": "deg", "_mm": "mm", "_m_s": "m/s", "_m_s2": "m/s2", "_s_mm2": "s mm2",
    "_ratio": "ratio", "_geometric": "ratio", "_trapped": "ratio", "_area_ratio": "share", "_of_bore": "share",
}  # fmt: skip
ABSENT_OF_A_REED = {"intake_duration_deg", "intake_time_area_s_mm2"}
ASKED_FIELDS = {"value", "plus_minus", "unit", "formula", "source", "inputs"}
OUR_FIELDS = {"label", "put_in"}


def no_such_number(word: str) -> float:
    raise AssertionError(f"{word} is no JSON")


@cache
def document_of(name: str) -> dict[str, Any]:
    read: dict[str, Any] = json.loads(card_json(card_of(name)), parse_constant=no_such_number)
    return read


def inputs_of(document: dict[str, Any]) -> Iterator[dict[str, Any]]:
    for value in document["values"].values():
        yield from value["inputs"]


# --- JSON ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SOUND)
@pytest.mark.parametrize("key", RELIED_ON)
def test_what_other_work_relies_on_is_there(name: str, key: str) -> None:
    value = document_of(name)["values"][key]
    if name == REED and key in ABSENT_OF_A_REED:
        assert (value["value"], value["plus_minus"]) == (None, None)
        assert "reed" in value["why_absent"]
        return
    assert isinstance(value["value"], float)
    assert value["plus_minus"] > 0
    assert value["inputs"]
    ending = max((ending for ending in UNIT_OF_ENDING if key.endswith(ending)), key=len)
    assert value["unit"] == UNIT_OF_ENDING[ending]


@pytest.mark.parametrize("name", SOUND)
def test_every_value_has_the_asked_fields_and_no_unknown_ones(name: str) -> None:
    for key, value in document_of(name)["values"].items():
        absent = value["value"] is None
        assert set(value) == ASKED_FIELDS | OUR_FIELDS | ({"why_absent"} if absent else set()), key
        assert isinstance(value["unit"], str)
        assert value["source"] in SOURCES
        if absent:
            assert (value["plus_minus"], value["inputs"], value["formula"]) == (None, [], "")
            assert value["why_absent"]
        else:
            assert value["plus_minus"] >= 0
            assert value["formula"]
            assert value["inputs"]


@pytest.mark.parametrize("name", SOUND)
def test_the_whole_document(name: str) -> None:
    document = document_of(name)
    assert set(document) == {
        "scribeline", "engine", "speed_rpm", "plus_minus", "values", "agreements", "warnings", "assumed", "cautions",
        "limits_said", "limits_not_held",
    }  # fmt: skip
    record = tomllib.loads(text_of(name))
    assert document["engine"] == {key: record[key] for key in ("name", "invented", "note")}
    assert document["speed_rpm"] == record["speed_rpm"]
    assert document["limits_not_held"].startswith("Not held, because nobody measured what it rests on: ")
    assert document["plus_minus"]["draws"] >= 4000
    for key in ("agreements", "warnings", "assumed", "cautions"):
        assert isinstance(document[key], list)
    for warning in document["warnings"]:
        assert set(warning) == {"about", "message", "source", "remedy", "certain", "beyond"}
        assert warning["about"] in document["values"]
    for assumed in document["assumed"]:
        assert set(assumed) == {"name", "value", "unit", "plus_minus", "reason"}
        assert assumed["reason"]
    for agreement in document["agreements"]:
        assert {agreement["first"], agreement["second"]} <= set(document["values"])
    assert document["cautions"] == [caution.text for caution in cautions_for("measure", "compression")]


@pytest.mark.parametrize("name", SOUND)
def test_every_input_leads_to_a_reading_an_assumption_or_another_value(name: str) -> None:
    document, given = document_of(name), leaves(tomllib.loads(text_of(name)))
    assumed = {one["name"]: one for one in document["assumed"]}
    for one in inputs_of(document):
        assert set(one) == {"symbol", "name", "value", "plus_minus", "unit"}
        if one["name"] in document["values"]:
            value = document["values"][one["name"]]
            assert all(one[key] == value[key] for key in ("value", "plus_minus", "unit"))
        elif one["name"] in given:
            assert one["value"] == value_of(given[one["name"]])
        elif one["name"] in assumed:
            assert one["value"] == assumed[one["name"]]["value"]
        else:
            assert one["name"] == "degree_wheel_error_deg"
            assert 'readings = "zeroed"' in text_of(name)


def test_numbers_of_the_kart_by_hand() -> None:
    """Closed forms, from the readings as they stand in the record; 12.6 cc to the plug seat less 1.6 cc of plug."""
    values = document_of(KART)["values"]
    stroke = sqrt(125.0**2 - 0.25) - sqrt(75.0**2 - 0.25)
    swept = pi / 4 * 50.0**2 * stroke / 1000
    expected = {
        "displacement_cc": swept,
        "mean_piston_speed_m_s": 2 * stroke / 1000 * 9500 / 60,
        "compression_ratio_geometric": (swept + 11.0) / 11.0,
        "crankcase_compression_ratio": (255 + swept) / 255,
        "trapped_volume_cc": pi / 4 * 50.0**2 * (29.1 - 0.62 - 0.2) / 1000 + 11.0,
        "squish_gap_mm": (1.47 + 1.42 + 1.38 + 1.44) / 4,
        "squish_area_ratio": 1 - (34 / 50.0) ** 2,
        "exhaust_width_share_of_bore": 32.0 / 50.0,
    }
    for key, value in expected.items():
        assert values[key]["value"] == pytest.approx(value, rel=1e-9), key


def test_without_plus_minus_every_one_is_null() -> None:
    document = json.loads(card_json(engine_card_of_file(path_of(KART), plus_minus=False)))
    assert document["plus_minus"]["draws"] == 0
    assert {value["plus_minus"] for value in document["values"].values()} == {None}
    assert document["values"]["displacement_cc"]["value"] == document_of(KART)["values"]["displacement_cc"]["value"]


def test_another_speed_moves_what_depends_on_it_and_nothing_else() -> None:
    at_half = json.loads(card_json(engine_card_of_file(path_of(KART), speed_rpm=4750.0, plus_minus=False)))
    before, after = document_of(KART)["values"], at_half["values"]
    assert at_half["speed_rpm"] == 4750
    ratio = {key: after[key]["value"] / before[key]["value"] for key in RELIED_ON}
    for key, moved in ratio.items():
        expected = 0.25 if key.startswith("piston_acceleration") else 0.5 if key.endswith("_m_s") else 1.0
        assert moved == pytest.approx(2.0 if "time_area" in key else expected, rel=1e-9), key


def test_the_same_seed_gives_the_same_bytes_in_another_process() -> None:
    """In two other processes with another hash seed each, so that no order of a set can be relied on."""
    script = (
        "import sys; from pathlib import Path; from scribeline.tasks.card import card_json, engine_card_of_file;"
        "sys.stdout.buffer.write(card_json(engine_card_of_file(Path(sys.argv[1]))).encode())"
    )
    here = card_json(card_of(KART)).encode()
    for hash_seed in ("1", "2"):
        command = [sys.executable, "-c", script, str(path_of(KART))]
        there = subprocess.run(
            command, capture_output=True, check=True, env=os.environ | {"PYTHONHASHSEED": hash_seed}
        ).stdout
        assert there == here


def test_another_seed_gives_another_plus_minus_and_the_same_value() -> None:
    other = json.loads(card_json(engine_card(edited(), seed=7)))["values"]["displacement_cc"]
    here = document_of(KART)["values"]["displacement_cc"]
    assert other["value"] == here["value"]
    assert other["plus_minus"] != here["plus_minus"]
    assert other["plus_minus"] == pytest.approx(here["plus_minus"], rel=0.1)


@pytest.mark.parametrize("name", ['a "quoted" name', "brackets <b> & more", "Grüße 滑 \\u0001"])
def test_any_name_gives_valid_json(name: str) -> None:
    quoted = name.replace('"', '\\"')
    document = json.loads(card_json(engine_card(edited(('name = "Club kart 98"', f'name = "{quoted}"')), draws=0)))
    assert document["engine"]["name"] == tomllib.loads(f'name = "{quoted}"')["name"]


# --- what was assumed ------------------------------------------------------------------------------------------------


def leaves(table: Any, place: str = "") -> dict[str, Any]:
    """Every number of a record's TOML by its dotted place, as it stands there: a plain number or a table with it."""
    found: dict[str, Any] = {}
    if isinstance(table, dict) and "value" not in table:
        for key, value in table.items():
            found |= leaves(value, f"{place}.{key}" if place else key)
    elif isinstance(table, list):
        for number, value in enumerate(table, start=1):
            named = value.get("name", number) if isinstance(value, dict) else number
            found |= leaves(value, f"{place}.{named}")
    elif isinstance(table, dict | int | float) and not isinstance(table, bool):
        found[place] = table
    return found


def value_of(leaf: Any) -> float:
    return float(leaf["value"] if isinstance(leaf, dict) else leaf)


def expected_assumed(text: str, document: dict[str, Any]) -> set[str]:
    """What has to be listed: whatever a number rests on that neither stands in the file nor is a number of the card,
    and each reading without a +/- in the file that has one on the card."""
    given = leaves(tomllib.loads(text))
    wanted = set()
    for one in inputs_of(document):
        name = one["name"]
        if name in given:
            leaf = given[name]
            if not (isinstance(leaf, dict) and "plus_minus" in leaf) and one["plus_minus"] > 0:
                wanted.add(name)
        elif name not in document["values"]:
            wanted.add(name)
    if 'readings = "zeroed"' in text:  # the builder said so
        wanted.discard("degree_wheel_error_deg")
    return wanted


@pytest.mark.parametrize("name", SOUND)
def test_all_that_was_assumed_is_listed_and_nothing_that_was_given(name: str) -> None:
    listed = [one["name"] for one in document_of(name)["assumed"]]
    assert len(listed) == len(set(listed))
    assert set(listed) == expected_assumed(text_of(name), document_of(name))
    assert len(listed) > 20


@pytest.mark.parametrize(
    ("given", "assumed"),
    [
        ("pin_offset_mm = { value = 0.5, plus_minus = 0.1, with = \"caliper\" }\n", "crank.pin_offset_mm"),
        ("crown_chamfer_mm = 0.2\n", "piston.crown_chamfer_mm"),
        ("band_angle_deg = 9.0\n", "head.band_angle_deg"),
        ("base = [{ nominal_mm = 0.50, compressed_mm = 0.46, material = \"paper\" }]\n", "gaskets.base.none"),
        (", compressed_mm = 0.70", "gaskets.head.1.compressed_mm"),
    ],
)  # fmt: skip
def test_what_is_taken_out_of_the_record_appears_as_assumed(given: str, assumed: str) -> None:
    text = text_of(KART).replace(given, "\n" if given.endswith("\n") else "")
    document = json.loads(card_json(engine_card(edited((text_of(KART), text)))))
    by_name = {one["name"]: one for one in document["assumed"]}
    assert set(by_name) == expected_assumed(text, document)
    assert by_name[assumed]["reason"]
    assert not by_name[assumed]["reason"].startswith("+/- not given")
    before = {one["name"]: one["reason"] for one in document_of(KART)["assumed"]}
    assert before.get(assumed) != by_name[assumed]["reason"]


def test_a_reading_that_no_number_rests_on_is_not_listed() -> None:
    names = {one["name"] for one in document_of(KART)["assumed"]}
    unused = {"intake.airbox_cc", "ports.exhaust.passage_length_mm", "ports.exhaust.exit_area_mm2"}
    assert unused <= set(leaves(tomllib.loads(text_of(KART))))
    assert not names & unused


def test_an_assumed_plus_minus_is_that_of_its_instrument() -> None:
    by_name = {one["name"]: one for one in document_of(KART)["assumed"]}
    entry = by_name["ports.exhaust.width_chord_mm"]
    assert entry["reason"] == "+/- not given: the usual one of caliper in the bore"
    assert (entry["value"], entry["plus_minus"], entry["unit"]) == (32.0, 0.15, "mm")


# --- the working of each number --------------------------------------------------------------------------------------

ARTICLE = re.compile(r"\b(?:over|of|at|from|is|in|on|to|by) [\d.]+ [a-z]{3,}")


@cache
def explained(name: str) -> dict[str, str]:
    card = card_of(name)
    return {number: explain(card, number) for number in card.out.values}


def block(text: str, heading: str) -> str:
    """The indented lines under a heading."""
    found = re.search(rf"^{re.escape(heading)}\n((?: +.*\n?)+)", text, re.MULTILINE)
    assert found is not None, f"{heading!r} in {text}"
    return found[1]


def standing_alone(symbol: str, text: str) -> bool:
    """Whether a symbol stands in a text as a word of its own: `B` in `B² · c`, not in `Bore`."""
    words = re.findall(r"[^\W\d²³]+\d*", text)
    return symbol in words


def test_standing_alone() -> None:
    assert standing_alone("B", "π/4 · B²")
    assert standing_alone("d1", "min(d1, d2)")
    assert not standing_alone("d", "min(d1, dx)")


@pytest.mark.parametrize("name", SOUND)
def test_every_number_is_explained(name: str) -> None:
    card, document = card_of(name), document_of(name)
    for number, text in explained(name).items():
        worked, value = card.out.values[number], document["values"][number]
        assert text.startswith(f"{worked.label} ({number})\n"), number
        if worked.value is None:
            assert worked.why_absent in text
            continue
        assert f"    = {show(worked.value, worked.unit, worked.plus_minus)}\n" in text
        assert block(text, "formula").strip() == worked.formula
        assert block(text, "source").strip() == SOURCES[value["source"]].text
        went_in = block(text, "what went in")
        for one in value["inputs"]:
            line = f"{one['symbol']} = {show(one['value'], one['unit'], one['plus_minus'])}   {one['name']}"
            assert line in went_in, number
        hows = re.findall(r"^ {8}(measure|assumed|chosen|worked out): .{4,}$", went_in, re.MULTILINE)
        assert len(hows) == len(value["inputs"]), number


@pytest.mark.parametrize("name", SOUND)
def test_the_builders_numbers_stand_where_the_symbols_stood(name: str) -> None:
    for number, text in explained(name).items():
        value = document_of(name)["values"][number]
        if value["value"] is None:
            continue
        put_in = block(text, "with your numbers").strip()
        assert put_in == value["put_in"]
        assert not ARTICLE.search(put_in) or "at closing volume" in put_in, f"{number}: {put_in}"
        formula, _, behind = put_in.partition(", with ")
        for one in value["inputs"]:
            shown = show(one["value"], "ratio", one["plus_minus"]).split(" ±")[0]
            assert shown in put_in, f"{number}: {one['symbol']} in {put_in}"
            left = re.sub(rf"\b{re.escape(one['symbol'])} = ", "", behind)
            assert not standing_alone(one["symbol"], formula), f"{number}: {one['symbol']} left in {put_in}"
            assert not standing_alone(one["symbol"], left), f"{number}: {one['symbol']} left in {put_in}"


def test_the_working_of_one_number_in_full() -> None:
    text = explained(KART)["compression_ratio_geometric"]
    assert block(text, "formula") == "    (V + Vc) / Vc\n"
    assert block(text, "with your numbers") == "    (98.176 + 11.00) / 11.00\n"
    assert "worked out: swept volume of one cylinder; see --explain swept_volume_cc" in text
    reading = explained(KART)["clearance_on_engine_cc"]
    assert "V = 12.60 ± 0.25 cc   head.clearance_on_engine_cc\n        measure: engine together, piston at" in reading
    assert "(burette)" in reading


def test_the_kinds_of_input_are_told_apart() -> None:
    texts = explained(KART)
    assert "assumed: no outer diameter of the band: taken as the bore" in texts["squish_area_ratio"]
    assert "chosen: the crank speed the card is worked out for" in texts["mean_piston_speed_m_s"]
    assert "(caliper in the bore, its usual +/- assumed)" in texts["ports.exhaust.width_arc_mm.from_chord"]
    assert "its usual" not in texts["bore_area_mm2"]  # its +/- was given
    assert "see --explain bore_area_mm2" in texts["swept_volume_cc"]


def test_what_was_typed_is_shown() -> None:
    typed = ("bore_mm = { value = 50.00,", 'bore_mm = { value = 50.00, typed = "1.9685 in",')
    assert 'typed as "1.9685 in"' in explain(engine_card(edited(typed), draws=0), "bore_area_mm2")


def test_a_number_measured_twice_says_so() -> None:
    for number in ("clearance_volume_cc", "clearance_on_engine_cc", "clearance_from_bench_cc"):
        assert "measured twice\n    clearance volume, filled on the engine; less" in explained(KART)[number]
    assert "measured twice" not in explained(KART)["displacement_cc"]


def test_the_plus_minus_names_what_makes_it_the_most_first() -> None:
    """± of the displacement: stroke 98.18/50·0.03 = 0.0590 cc, bore 2·98.18/50.00·0.01 = 0.0393 cc, and next to nothing
    by rod and pin offset."""
    assert block(explained(KART)["displacement_cc"], "what makes its +/-, most first") == (
        "    crank.stroke_mm: 0.059 cc\n    cylinder.bore_mm: 0.039 cc"
    )
    assert len(block(explained(KART)["squish_velocity_max_m_s"], "what makes its +/-, most first").split("\n")) == 4
    assert "what makes" not in explain(engine_card(edited(), draws=0), "displacement_cc")


def test_a_number_that_this_engine_lacks_says_why() -> None:
    text = explained(REED)["intake_duration_deg"]
    assert text.endswith("this engine has no such number: a reed opens by pressure, not by crank angle")


def test_an_unknown_name_is_refused_with_the_closest_ones() -> None:
    with pytest.raises(WorkingError) as refusal:
        explain(card_of(KART), "exhaust_durration_deg")
    words = str(refusal.value)
    assert words.startswith('"exhaust_durration_deg" is no number of this card\n    accepted: exhaust_duration_deg, ')
    assert "--names" in words
    with pytest.raises(WorkingError, match="accepted: a name of the card"):
        explain(card_of(KART), "zzzzzzzzzz")


def test_agreement_in_words() -> None:
    off = edited(("clearance_on_engine_cc = { value = 12.6,", "clearance_on_engine_cc = { value = 14.6,"))
    said = {
        draws: agreement_text(out, next(a for a in out.agreements if a.first == "clearance_on_engine_cc"))
        for draws in (0, 256)
        if (out := work_out(off, draws=draws))
    }
    assert said[256].endswith("THEY DO NOT AGREE")
    assert said[0].endswith("no +/- worked out")
    kart = card_of(KART).out
    assert agreement_text(kart, kart.agreements[0]).endswith("mm: they agree")


# --- refusals --------------------------------------------------------------------------------------------------------


def test_a_file_that_is_not_there_is_refused() -> None:
    with pytest.raises(RecordError, match="check the name"):
        engine_card_of_file(FOLDER / "nowhere.toml")
