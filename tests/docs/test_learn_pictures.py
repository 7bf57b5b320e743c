"""The committed drawings of the page Learn are what the code draws today, and a page shows each."""

import pytest

from scribeline.marking.shapes import Drawing
from scribeline.marking.svg import write_svg
from tests.docs.learn_pictures import drawings
from tests.docs.pages import DOCS


@pytest.mark.parametrize("drawing", drawings(), ids=lambda one: one.name)
def test_the_file_is_what_the_code_draws(drawing: Drawing) -> None:
    committed = (DOCS / "pictures" / f"{drawing.name}.svg").read_text(encoding="utf-8")
    assert committed == write_svg(drawing), "run: .venv/bin/python -m tests.docs.learn_pictures"
    pages = [page for page in DOCS.rglob("*.md") if f"pictures/{drawing.name}.svg" in page.read_text(encoding="utf-8")]
    assert pages
