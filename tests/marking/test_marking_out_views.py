"""The drawings of the page on printing and marking out: the committed files are what is drawn."""

from pathlib import Path

import pytest

from scribeline.marking.drafting import text_box, texts
from scribeline.marking.marking_out_views import VIEWS, write_pictures
from scribeline.marking.svg import write_svg

PICTURES = Path(__file__).parents[2] / "docs" / "pictures"


@pytest.mark.parametrize("name", VIEWS)
def test_the_committed_picture_is_what_is_drawn(name: str) -> None:
    assert VIEWS[name]().name == name
    assert (PICTURES / f"{name}.svg").read_text(encoding="utf-8") == write_svg(VIEWS[name]())


@pytest.mark.parametrize("name", VIEWS)
def test_no_words_lie_on_other_words(name: str) -> None:
    boxes = [text_box(text) for text in texts(VIEWS[name]())]
    assert not any(a.overlaps(b) for i, a in enumerate(boxes) for b in boxes[i + 1 :])


def test_all_are_written_into_a_folder_that_is_made(tmp_path: Path) -> None:
    assert [path.stem for path in write_pictures(tmp_path / "new")] == list(VIEWS)
