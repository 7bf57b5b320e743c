"""The card as plain text: warnings first, narrow enough for a terminal, nothing left out."""

import re
from functools import cache

import pytest

from scribeline.plan.limits import Warning
from scribeline.sources import source
from scribeline.tasks.card import EngineCard, assumed, engine_card
from scribeline.tasks.card_page import card_page
from scribeline.tasks.card_text import WIDTH, card_text
from scribeline.units import show
from tests.examples import KART, REED, SOUND, card_of, edited

HEADINGS = ["CRANK AND PISTON", "PORT BY PORT", "TIMING", "ASSUMED, BECAUSE NOBODY MEASURED IT", "CAUTIONS"]


@cache
def text_of_card(name: str) -> str:
    return card_text(card_of(name))


def flat(text: str) -> str:
    """Text with its line breaks and runs of spaces as single spaces."""
    return " ".join(text.split())


@pytest.mark.parametrize("name", SOUND)
def test_nothing_is_wider_than_the_page(name: str) -> None:
    widths = {line: len(line) for line in text_of_card(name).split("\n")}
    assert max(widths.values()) <= WIDTH
    assert max(widths.values()) > WIDTH - 5
    assert all(line == line.rstrip() for line in widths)


def test_long_names_are_broken_too() -> None:
    long = "a very long name of an engine " * 8
    port = "main transfer with a name that nobody would write on a card but somebody may type into a record " * 2
    record = edited(
        ('name = "Club kart 98"', f'name = "{long}"'), ("main transfer", port), ("rear transfer", "r" * 150)
    )
    text = card_text(engine_card(record))
    assert max(len(line) for line in text.split("\n")) <= WIDTH
    assert long.strip() in flat(text)
    assert flat(port) in flat(text)
    assert "r" * 60 in text


@pytest.mark.parametrize("name", SOUND)
def test_every_number_stands_beside_its_label(name: str) -> None:
    """In the order of the card, and only those that are no inner step."""
    shown = flat(text_of_card(name))
    place = 0
    for worked in card_of(name).out.values.values():
        if worked.inner:
            assert f" {worked.label} {worked.value}" not in shown
            continue
        if worked.value is None:
            line = f"{worked.label} none: {worked.why_absent}"
        else:
            line = f"{worked.label} {show(worked.value, worked.unit, worked.plus_minus)}"
        place = shown.index(line, place) + 1


@pytest.mark.parametrize("name", SOUND)
def test_an_inner_step_is_left_out(name: str) -> None:
    inner = [worked for worked in card_of(name).out.values.values() if worked.inner]
    numbers = text_of_card(name).split("CRANK AND PISTON")[1].split("MEASURED TWICE")[0]
    assert len(inner) > 20
    assert not [worked.name for worked in inner if re.search(rf"^  {re.escape(worked.label)}  ", numbers, re.MULTILINE)]


@pytest.mark.parametrize("name", SOUND)
def test_warnings_stand_first_and_cautions_last(name: str) -> None:
    text = text_of_card(name)
    places = [text.index(f"\n{heading}\n") for heading in ["WARNINGS", *HEADINGS]]
    assert places == sorted(places)
    assert len(text[: places[0]].strip().split("\n")) == 2
    for warning in card_of(name).warnings:
        assert f"! {warning.message} [{source(warning.source).kind}] > {warning.remedy[0].upper()}" in flat(text)
    behind = flat(text[places[-1] :])
    assert len(card_of(name).cautions) == behind.count("* ")
    for caution in card_of(name).cautions:
        assert f"* {caution.text}" in behind


def test_without_a_warning_it_says_so() -> None:
    card = card_of(KART)
    calm = card_text(EngineCard(card.out, (), card.cautions))
    assert "\nNo common-practice limit is passed.\n" in calm
    assert "WARNINGS" not in calm
    loud = card_text(EngineCard(card.out, (Warning("x", "Mind it.", "judgement", "stop", True),), ()))
    assert "\nWARNINGS\n  ! Mind it. [judgement]\n    > Stop.\n" in loud


@pytest.mark.parametrize("name", SOUND)
def test_what_was_assumed_stands_with_its_reason_or_instrument(name: str) -> None:
    text = flat(text_of_card(name).split(HEADINGS[3])[1].split(HEADINGS[4])[0])
    for one in assumed(card_of(name).out):
        if one["reason"].startswith("+/- not given"):
            width = show(one["plus_minus"], one["unit"])
            instrument = one["reason"].partition("the usual one of ")[2]
            assert re.search(rf"- ± {re.escape(width)}, usual for {instrument}: [^-]*{re.escape(one['name'])}", text)
        else:
            number = show(one["value"], one["unit"], one["plus_minus"] or None)
            assert f"- {one['name']} = {number}: {one['reason']}" in text


def test_an_invented_engine_says_so_and_another_does_not() -> None:
    assert text_of_card(KART).startswith("Club kart 98 (INVENTED, for demonstration)\nworked out at 9500 rpm;")
    real = card_text(engine_card(edited(("invented = true", "invented = false")), draws=0))
    assert real.startswith("Club kart 98\nworked out at 9500 rpm; without +/-\n")
    assert "INVENTED" not in real


def test_what_was_measured_twice_is_said_with_its_verdict() -> None:
    text = flat(text_of_card(KART))
    assert text.count("they agree.") == len(card_of(KART).out.agreements) == 6
    off = engine_card(edited(("clearance_on_engine_cc = { value = 12.6,", "clearance_on_engine_cc = { value = 14.6,")))
    assert "! clearance volume, filled on the engine; less clearance volume, chamber by bench and deck:" in flat(
        card_text(off)
    )
    assert "MEASURED TWICE" in text_of_card(REED)


def test_limits_that_cannot_be_held_are_said_in_text_and_page() -> None:
    card = engine_card(edited(), draws=0)
    said = "Not held, because nobody measured what it rests on: passages against the foot's studs"
    assert said in " ".join(card_text(card).split())
    assert said.replace("'", "&#x27;") in " ".join(card_page(card).split())
