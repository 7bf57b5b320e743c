"""What the check bars say of a printer, and the page that measures it, on paper."""

from pathlib import Path

import pytest

from scribeline.marking.printer import Printer
from scribeline.tasks.printer_check import check_page, check_page_pdf, printer_check
from tests.marking.printed import on_paper
from tests.marking.test_pdf import bar_lengths


@pytest.mark.parametrize(
    ("bars", "proof", "state", "trusted"),
    [
        ({}, {}, "not measured", False),
        ({"across": "99.6"}, {}, "not measured", False),
        ({"across": "100.2", "up": "99.8"}, {}, "right", True),
        ({"across": "99.6", "up": "100"}, {}, "corrected", False),
        ({"across": "99.6", "up": "100"}, {"across": "100.1"}, "corrected", False),
        ({"across": "99.6", "up": "100"}, {"across": "100.1", "up": "99.9 mm"}, "proved", True),
        ({"across": "99.6", "up": "100"}, {"across": "99.6", "up": "100"}, "still off", False),
        ({"across": "94.9", "up": "100"}, {}, "refused", False),
        ({"across": "ten", "up": "100"}, {}, "refused", False),
        ({"across": "101.6", "up": "100"}, {}, "refused", False),  # that is the 4 in bar
        ({"across": "99.6", "up": "100"}, {"across": "x", "up": "100"}, "refused", False),
    ],
)
def test_only_bars_that_came_out_right_make_a_printer_trusted(
    bars: dict[str, str], proof: dict[str, str], state: str, trusted: bool
) -> None:
    found = printer_check({"bars": bars, "proof": proof})
    assert (found.state, found.trusted) == (state, trusted)


def test_a_printer_that_is_right_is_not_corrected_and_one_that_is_off_is() -> None:
    assert printer_check({"bars": {"across": "100.2", "up": "99.9"}}).printer == Printer()
    off = printer_check({"bars": {"across": "98.7", "up": "3.948 in"}})  # 98.7 of 100 is 3.948 of 4 in
    assert (off.printer.across_mm, off.printer.up_mm) == pytest.approx((98.7, 98.7))
    assert "1.32 % larger along the short edge" in off.words  # 100/98.7 = 1.01317


@pytest.mark.parametrize(("paper", "size"), [("A4", (210.0, 297.0)), ("Letter", (215.9, 279.4))])
def test_its_bars_come_out_as_long_as_the_correction_makes_them(
    paper: str, size: tuple[float, float], tmp_path: Path
) -> None:
    """A printer that makes 100 mm 98 mm long is given bars of 100/0.98 mm, measured on the paper by poppler."""
    printer = Printer(across_mm=98.0, up_mm=102.0)
    (printed,) = on_paper(check_page_pdf(paper, printer, "2026-11-26"), tmp_path)
    assert sorted(printed.size_mm) == pytest.approx(sorted(size), abs=0.05)
    lying = printed.size_mm[0] > printed.size_mm[1]
    for (name, up), length in bar_lengths(check_page(paper, printer, "2026-11-26"), printed).items():
        along_short_edge = up == lying
        bar = 100.0 if name == "100 mm" else 4 * 25.4
        assert length == pytest.approx(bar / (0.98 if along_short_edge else 1.02), abs=0.05)
