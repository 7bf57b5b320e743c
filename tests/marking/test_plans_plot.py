"""Plans against metal, and shares of groups, as drawings: what is where, what is said, and what is refused."""

import math

import pytest

from scribeline.errors import SheetError
from scribeline.marking.drafting import bounds, texts
from scribeline.marking.plans_plot import HEIGHT_MM, WIDTH_MM, PlanDot, plans_plot
from scribeline.marking.shapes import Circle, Drawing, Polyline
from scribeline.marking.shares_plot import Bar, SharesPanel, shares_plot
from scribeline.marking.svg import write_svg

DOTS = [PlanDot(1, 0.0, 0.2), PlanDot(2, 1.0, 0.6, 0.4, 0.7), PlanDot(3, 2.0, 0.5), PlanDot(4, 4.0, 1.0)]
PLANS = plans_plot("plans", "Plans", "Four plans.", "gain, kW", DOTS)
PANEL = SharesPanel(
    "most power",
    "kW",
    2,
    (Bar("ports", 0.3, 0.05, 0.4), Bar("pipe", -0.6, 0.1, -0.2), Bar("intake", 0.0, math.nan, 0.0)),
)
SHARES = shares_plot("who", "Who limits what", "The pipe.", [PANEL])


def circles(drawing: Drawing) -> dict[str, list[Circle]]:
    found: dict[str, list[Circle]] = {}
    for group in drawing.groups:
        found.setdefault(group.role, []).extend(shape for shape in group.shapes if isinstance(shape, Circle))
    return found


def test_each_plan_stands_where_its_metal_and_gain_are() -> None:
    """Scales end at 4 mm and 1 kW: plan 2 is a quarter of the way across and 0.6 of the way up."""
    dots = circles(PLANS)
    assert dots["target"][0].centre == pytest.approx((WIDTH_MM, HEIGHT_MM))
    assert [dot.centre for dot in dots["outline"]] == [
        pytest.approx((0.0, 0.2 * HEIGHT_MM)), pytest.approx((0.25 * WIDTH_MM, 0.6 * HEIGHT_MM)),
        pytest.approx((0.5 * WIDTH_MM, 0.5 * HEIGHT_MM)),
    ]  # fmt: skip


def test_the_stairs_rise_only_with_plans_that_gain_more() -> None:
    (stairs,) = (g for g in PLANS.groups if g.role == "centre")
    (path,) = stairs.shapes
    assert isinstance(path, Polyline)
    heights = [y for _, y in path.points]
    assert heights == sorted(heights)
    assert 0.5 * HEIGHT_MM not in heights


def test_every_plan_has_its_number_and_is_in_words() -> None:
    said = [text.words for text in texts(PLANS)]
    assert {"1", "2", "3", "4", "gain, kW"} <= set(said)
    svg = write_svg(PLANS)
    assert "plan 2: +0.6 for 1 mm" in svg


def test_a_loss_below_zero_has_its_place() -> None:
    drawing = plans_plot("plans", "Plans", "One.", "gain, kW", [PlanDot(1, 1.0, 0.4, -0.2, 0.5)])
    assert bounds(drawing.groups).bottom < 0.0
    assert "-0.2" in [text.words for text in texts(drawing)]


def test_without_a_plan_or_a_bar_there_is_no_drawing() -> None:
    with pytest.raises(SheetError, match="no plan to draw"):
        plans_plot("plans", "Plans", "None.", "gain", [])
    with pytest.raises(SheetError, match="no share to draw"):
        shares_plot("who", "Who", "Nobody.", [])


def test_the_largest_share_is_on_top_and_in_colour() -> None:
    names = [text.words for text in texts(SHARES) if text.words in ("ports", "pipe", "intake")]
    assert names == ["pipe", "ports", "intake"]
    (coloured,) = (g for g in SHARES.groups if g.role == "target")
    (bar,) = coloured.shapes
    assert isinstance(bar, Polyline)
    across = [x for x, _ in bar.points]
    (other,) = (g for g in SHARES.groups if g.role == "outline" and g.fill == "wash")
    ports = other.shapes[0]
    assert isinstance(ports, Polyline)
    wide = [x for x, _ in ports.points]
    assert max(across) == pytest.approx(min(wide))  # one ends at zero on its right, the other begins there
    assert (max(across) - min(across)) == pytest.approx(2.0 * (max(wide) - min(wide)))


def test_shares_are_written_with_their_plus_minus() -> None:
    said = [text.words for text in texts(SHARES)]
    assert "-0.60 ± 0.10 kW" in said
    assert "+0.00 kW" in said
    assert "most power in kW: pipe -0.60, ports +0.30, intake +0.00" in write_svg(SHARES)


def test_nothing_is_lettered_over_anything_else() -> None:
    from scribeline.marking.drafting import text_box

    for drawing in (SHARES,):
        boxes = [text_box(text) for text in texts(drawing)]
        assert not [(a, b) for i, a in enumerate(boxes) for b in boxes[:i] if a.overlaps(b)]
