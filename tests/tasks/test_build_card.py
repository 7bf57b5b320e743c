"""The build card of the demonstration engine: numbers of the card before and after, and refusals."""

import re
import struct
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from scribeline.engine import read_record_file
from scribeline.errors import SheetError
from scribeline.geometry.work_out import work_out
from scribeline.notebook import Revision
from scribeline.tasks.build_card import Looks, card_of_two, write_build_card

EXAMPLES = Path(__file__).parents[2] / "examples"
KART, PLAN, SET = (
    EXAMPLES / name for name in ("club-kart-98.toml", "club-kart-98-plan.toml", "club-kart-98-squish-set.toml")
)
DAY = date(2026, 11, 25)


def texts(svg: str) -> list[str]:
    return re.findall(r"<text[^>]*>([^<]*)</text>", svg)


def test_it_shows_what_the_cards_of_both_engines_say(tmp_path: Path) -> None:
    picture = write_build_card(KART, tmp_path / "card.svg", after=SET, on=DAY)
    said = texts(picture.read_text(encoding="utf-8"))
    before, after = (work_out(read_record_file(path), draws=0) for path in (KART, SET))
    for out in (before, after):
        assert f"{out.value('exhaust_duration_deg'):.1f}°" in said
        assert f"{out.value('squish_gap_mm'):.2f} mm" in said
    assert {"as it was", "measured after"} <= set(said)
    assert any("Invented engine" in one for one in said)


def test_two_revisions_of_a_notebook_make_the_same_picture(tmp_path: Path) -> None:
    def revision(number: int, path: Path) -> Revision:
        day = datetime(2026, 11, number, tzinfo=UTC)
        return Revision("", "kart", number, None, "", "", day, path.read_text(encoding="utf-8"), "")

    both = revision(1, KART), revision(2, SET)
    svg = card_of_two(*both, ".svg", Looks())
    written = write_build_card(KART, tmp_path / "card.svg", after=SET, on=DAY)
    told, by_command = texts(svg.decode()), texts(written.read_text(encoding="utf-8"))
    assert {"revision 1", "revision 2"} <= set(told)
    assert any(one.startswith("Revision 1 of 2026-11-01, revision 2 of 2026-11-02. Invented engine.") for one in told)
    numbers = [one for one in told if one[:1].isdigit()]
    assert numbers == [one for one in by_command if one[:1].isdigit()]
    png = card_of_two(*both, ".png", Looks(square=True, dark=True))
    assert struct.unpack(">II", png[16:24]) == (1080, 1080)


@pytest.mark.parametrize("square", [False, True])
def test_a_png_of_a_plan(tmp_path: Path, square: bool) -> None:
    picture = write_build_card(KART, tmp_path / "card.png", plan=PLAN, square=square, dark=True, on=DAY)
    assert struct.unpack(">II", picture.read_bytes()[16:24]) == ((1080, 1080) if square else (1920, 1080))


def test_without_an_after_there_is_one_column(tmp_path: Path) -> None:
    said = texts(write_build_card(KART, tmp_path / "card.svg", on=DAY).read_text(encoding="utf-8"))
    assert "as it is" in said
    assert "planned" not in said


def test_refusals(tmp_path: Path) -> None:
    with pytest.raises(SheetError, match=r"\.svg or \.png"):
        write_build_card(KART, tmp_path / "card.jpg", on=DAY)
    with pytest.raises(SheetError, match="one of them"):
        write_build_card(KART, tmp_path / "card.png", plan=PLAN, after=SET, on=DAY)
    (tmp_path / "card.svg").write_text("mine")
    with pytest.raises(SheetError, match="stands there"):
        write_build_card(KART, tmp_path / "card.svg", on=DAY)
