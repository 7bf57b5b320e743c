"""Every check of 09_printing_and_cad.toml: papers, units, a printer's correction, a wrap's width, markers."""

import io

import ezdxf
import numpy as np
import pytest

from scribeline.geometry.windows import arc_from_chord_mm
from scribeline.marking.bore_view import Bore
from scribeline.marking.dxf import MILLIMETRES, write_dxf
from scribeline.marking.page import pages
from scribeline.marking.paper import PAPERS
from scribeline.marking.pdf import POINTS_PER_MM, write_pdf
from scribeline.marking.printer import Printer
from scribeline.marking.shapes import Drawing, group, rectangle
from scribeline.marking.sheet import Issue, Sheet
from scribeline.marking.svg import write_page_svg
from scribeline.marking.wrap import Wrap
from scribeline.rubbing.markers import cells
from tests.marking.printed import on_paper
from tests.reference.checks import Check, assert_close, each, not_run

FILE = "09_printing_and_cad"
ISSUE = Issue("Invented engine", "0a1b2c3d", "2026-11-25")
PLATE = Sheet(Drawing("plate", "A plate", "A plate.", (group("cut", rectangle(0, 0, 50, 50)),)), "lower left corner")


@each(FILE, "paper")
def test_papers(check: Check) -> None:
    """Ledger, 11 x 17 in, is not offered; it is two of our Letter side by side."""
    letter = PAPERS["Letter"]
    size = {name: [paper.width_mm, paper.height_mm] for name, paper in PAPERS.items()}
    inches = [mm / 25.4 for mm in size["Letter"]]
    ledger = [letter.height_mm / 25.4, 2 * letter.width_mm / 25.4]
    got = {"a4_mm": size["A4"], "a3_mm": size["A3"], "letter_mm": size["Letter"], "letter_in": inches}
    assert_close(check, {**got, "ledger_in": ledger}, judged_rtol=1e-12)


@each(FILE, "css-units")
def test_units_of_a_written_page(check: Check) -> None:
    """The SVG says its size in mm and has 1 user unit to the mm, so the browser's px and pt are never relied on."""
    (page,) = pages(PLATE, ISSUE, PAPERS["A4"])
    assert 'width="210mm" height="297mm" viewBox="0 0 210 297"' in write_page_svg(page)
    expected = check.expected
    assert expected["px_per_mm"] == pytest.approx(expected["px_per_inch"] / expected["mm_per_inch"], rel=1e-12)
    assert pytest.approx(1.0 / expected["mm_per_pt"], rel=1e-12) == POINTS_PER_MM
    assert pytest.approx(expected["pt_per_inch"], rel=1e-12) == POINTS_PER_MM * 25.4


@each(FILE, "pdf-units")
def test_units_of_a_pdf(check: Check) -> None:
    got = [mm * POINTS_PER_MM for mm in (PAPERS["A4"].width_mm, PAPERS["A4"].height_mm)]
    assert_close(check, {"points_per_inch": POINTS_PER_MM * 25.4, "a4_points": got})
    (page,) = pages(PLATE, ISSUE, PAPERS["A4"])
    media_box = write_pdf([page]).partition(b"/MediaBox [ ")[2].partition(b" ]")[0].split()
    assert [float(number) for number in media_box[2:]] == pytest.approx(check.expected["a4_points"], abs=1e-3)


@each(FILE, "dxf-insunits")
def test_unit_of_a_dxf(check: Check) -> None:
    document = ezdxf.read(io.StringIO(write_dxf(PLATE, ISSUE)))
    assert document.header["$INSUNITS"] == check.expected["mm"] == MILLIMETRES
    others = {value for name, value in check.expected.items() if name != "mm"}
    assert MILLIMETRES not in others


@each(FILE, "px-")
def test_a_length_in_dots(check: Check, tmp_path_factory: pytest.TempPathFactory) -> None:
    """The dots of a length, and that a page printed at that density comes out so many dots wide."""
    inputs = check.inputs
    px = inputs["length_mm"] / 25.4 * inputs["dpi"]
    rounded = round(px)
    error = abs(rounded / inputs["dpi"] * 25.4 - inputs["length_mm"])
    assert px == pytest.approx(check.expected["px"], rel=check.rtol)
    assert rounded == check.expected["px_rounded"]
    assert error == pytest.approx(check.expected["rounding_error_mm"], abs=1e-10)
    (page,) = pages(PLATE, ISSUE, PAPERS["A4"])
    (printed,) = on_paper(write_pdf([page]), tmp_path_factory.mktemp("dots"), dpi=inputs["dpi"])
    assert printed.ink.shape[1] == pytest.approx(px * 210.0 / inputs["length_mm"], abs=1.0)


@each(FILE, "print-scale-98.7")
def test_correction_of_a_printer(check: Check) -> None:
    inputs = check.inputs
    printer = Printer(across_mm=100.0 * inputs["bar_measured_mm"] / inputs["bar_nominal_mm"])
    _printed(check, printer)


@each(FILE, "print-scale-151.1")
def test_correction_of_a_printer_with_another_bar(check: Check) -> None:
    inputs = check.inputs
    _printed(check, Printer(across_mm=100.0 * inputs["bar_measured_mm"] / inputs["bar_nominal_mm"]))


def _printed(check: Check, printer: Printer) -> None:
    factor = printer.factors[0]
    got = {
        "scale_error_percent": 100.0 * (1.0 / factor - 1.0),
        "print_at_percent": 100.0 * factor,
        "template_width_as_printed_mm": check.inputs["template_width_mm"] / factor,
    }
    for name, value in got.items():
        assert value == pytest.approx(check.expected[name], rel=1e-12), name
    assert set(got) == set(check.expected)


@each(FILE, "template-")
def test_width_of_a_port_on_a_wrap(check: Check) -> None:
    bore, chord = check.inputs["bore"], check.inputs["port_chord"]
    arc = float(arc_from_chord_mm(chord, bore))
    assert arc == pytest.approx(check.expected["port_arc_mm"], rel=1e-10)
    assert 0.5 * arc == pytest.approx(check.expected["port_edge_from_centre_mm"], rel=1e-10)
    empty = Bore(bore, (), crown_at_tdc_mm=0.0, crown_at_bdc_mm=50.0)
    assert Wrap(empty, paper_mm=0.0).around_mm == pytest.approx(check.expected["full_wrap_mm"], rel=1e-10)
    assert Wrap(empty, paper_mm=0.1).around_mm == pytest.approx(check.expected["wrap_with_paper_0p1mm_mm"], rel=1e-10)


@each(FILE, "aruco-DICT_5X5_100")
def test_markers_of_the_rubbing_wrap(check: Check) -> None:
    """The wrap uses the larger 5 x 5 set of 1,000, which begins with this one."""
    facts = check.expected
    printed = [cells(number) for number in range(int(facts["markers"]))]
    inside = np.array([~one[1:-1, 1:-1] for one in printed])
    assert printed[0].shape == (facts["modules_per_side_with_border"],) * 2
    assert inside.shape[1:] == (facts["bits_per_side"],) * 2
    assert all(one[[0, -1]].all() and one[:, [0, -1]].all() for one in printed)
    turned = [np.rot90(inside, turn, axes=(1, 2)).reshape(len(inside), -1) for turn in range(4)]
    apart = [
        (turned[0][:, None] != other[None]).sum(axis=2) + (1000 * np.eye(len(inside), dtype=int) if turn == 0 else 0)
        for turn, other in enumerate(turned)
    ]
    assert min(int(one.min()) for one in apart) == facts["min_hamming_distance_any_rotation"]
    assert (facts["min_hamming_distance_any_rotation"] - 1) // 2 == facts["max_correction_bits"]


def test_every_check_is_run() -> None:
    assert not_run(FILE, __name__) == []
