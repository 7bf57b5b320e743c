"""A flat scan without markers, laid out by hand: from the marks of a page to the ports."""

from pathlib import Path

import numpy as np
import pytest

from scribeline.errors import RubbingError
from scribeline.tasks.rubbing_review import review
from scribeline.tasks.rubbing_scan import MARKS, Scan, apart_typed, mark_at, scan_of
from tests.examples import KART, text_of
from tests.rubbing.kart import TRUTHS
from tests.rubbing.rendering import save
from tests.rubbing.test_scanning import scan as scanned


def marked(folder: Path) -> tuple[Path, dict[str, list[float]]]:
    """A scan as a file, and where its marks are as a page keeps them."""
    picture, marks = scanned(1.0)
    rows, columns = picture.grey.shape
    assert marks.ruler is not None
    places = (*marks.deck, marks.middle, *marks.ruler[:2])
    kept = {key: [x / columns, y / rows] for key, (x, y) in zip(MARKS, places, strict=True)}
    return save((255.0 * picture.grey).astype(np.uint8), folder / "scan.png"), kept


def test_the_ports_lie_where_the_metal_is_once_every_mark_is_laid(tmp_path: Path) -> None:
    path, marks = marked(tmp_path)
    left = {key: at for key, at in marks.items() if key != "rule-other"}
    waiting = scan_of({"scan": {"marks": left, "apart": "100"}})
    assert waiting is not None
    assert waiting.to_lay == ("Rule, another mark",)
    seen = review(path, text_of(KART), 0.1, (1.0, 1.0), waiting)
    assert (seen.refusal, seen.openings, seen.flat) == ("", (), "")
    assert seen.photo.startswith("data:image/jpeg;base64,")
    turned = marks | {"deck-left": marks["deck-right"], "deck-right": marks["deck-left"]}  # which end is which is seen
    for laid, apart in ((marks, "100"), (turned, "100 mm")):
        seen = review(path, text_of(KART), 0.1, (1.0, 1.0), scan_of({"scan": {"marks": laid, "apart": apart}}))
        exhaust = next(one for one in seen.openings if one.port == "exhaust")
        assert exhaust.shape.edges[2:4] == pytest.approx((TRUTHS[0].roof_mm, TRUTHS[0].floor_mm), abs=0.15)
        assert (seen.refusal, seen.markers, len(seen.openings)) == ("", (), len(TRUTHS))


def test_without_a_rule_the_file_must_say_how_fine_it_is(tmp_path: Path) -> None:
    path, marks = marked(tmp_path)
    seen = review(path, text_of(KART), 0.1, (1.0, 1.0), scan_of({"scan": {"marks": marks}}))
    assert seen.refusal.startswith("the file does not say how many pixels an inch has")
    assert seen.photo


def test_what_is_no_scan_and_what_is_no_mark() -> None:
    assert (scan_of({}), scan_of({"scan": {}})) == (None, Scan())
    with pytest.raises(RubbingError, match="a mark that is nowhere"):
        mark_at(["left", 0.5])
    for typed, units, said in (("10", "mm", "10.00 mm between"), ("0.5", "inch", "0.500 in between")):
        with pytest.raises(RubbingError, match=said):
            apart_typed(typed, units)  # type: ignore[arg-type]
