"""The page of checks: names every picture and every test that stands, and its pictures are what the code draws."""

import importlib.util
import re
from pathlib import Path

import numpy as np
import pytest

from scribeline.marking.svg import write_svg

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "docs" / "concepts" / "validation.md").read_text(encoding="utf-8")
FOLDER = ROOT / "docs" / "pictures" / "validation"


def _figures():
    spec = importlib.util.spec_from_file_location("validation_figures", ROOT / "docs" / "validation_figures.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module.FIGURES


FIGURES = _figures()


def test_the_page_shows_every_picture_and_no_other() -> None:
    shown = re.findall(r"!\[[^\]]{10,}\]\(\.\./pictures/validation/([\w-]+)\.svg\)", PAGE)
    assert sorted(shown) == sorted(FIGURES) == sorted(path.stem for path in FOLDER.glob("*.svg"))


def test_every_test_that_the_page_names_stands() -> None:
    named = re.findall(r"`((?:tests/[\w/]+/)?test_\w+\.py)`", PAGE)
    assert len(named) > 15
    files = {path.relative_to(ROOT).as_posix() for path in (ROOT / "tests").rglob("test_*.py")}
    for name in named:
        assert any(path.endswith(name) for path in files), name


def _words_and_lines(svg: str) -> tuple[list[str], list[np.ndarray]]:
    """Every lettering, and the points of every line that shows what the simulation gives, in millimetres."""
    ours = "".join(re.findall(r'<g class="target[^>]*>(.*?)</g>', svg, re.S))
    paths = re.findall(r'<path d="([^"]+)"', ours)
    lines = [np.array(re.findall(r"(-?[\d.]+) (-?[\d.]+)", path), float) for path in paths]
    return re.findall(r"<text[^>]*>([^<]*)<", svg), lines


@pytest.mark.parametrize("name", FIGURES)
def test_a_picture_is_what_the_code_draws(name: str) -> None:
    """Words exactly; the simulation's lines to half a millimetre, for other machines and figures that converge."""
    kept_words, kept = _words_and_lines((FOLDER / f"{name}.svg").read_text(encoding="utf-8"))
    words, drawn = _words_and_lines(write_svg(FIGURES[name]()))
    assert words == kept_words
    assert len(drawn) == len(kept) > 0
    for now, then in zip(drawn, kept, strict=True):
        x = np.linspace(max(now[0, 0], then[0, 0]), min(now[-1, 0], then[-1, 0]), 300)
        gap = np.abs(np.interp(x, *now.T) - np.interp(x, *then.T))
        assert gap.max() < 0.5
