"""The drawings of the page Learn, of an invented cylinder. After a change: python -m tests.docs.learn_pictures"""

from scribeline.marking.ledger_plot import LedgerRow, ledger_plot
from scribeline.marking.shapes import Drawing
from scribeline.marking.svg import write_svg
from scribeline.marking.timeline_view import Bar, History, Stop, timeline_view
from tests.docs.pages import DOCS

STOPS = (
    Stop("record", "1 Mar 2026", "as bought", 1),
    Stop("promise", "1 Mar 2026", "8 numbers of the plan: deck by 0.65 mm"),
    Stop("sheets", "2 Mar 2026", "bore wrap, cut list"),
    Stop("record", "2 Mar 2026", "0.65 mm off the top", 2, 1),
    Stop("measured", "2 Mar 2026", "8 numbers measured again"),
    Stop("promise", "6 Mar 2026", "25 to 50 km/h and top speed, simulated"),
    Stop("runs", "7 Mar 2026", "saturday: dry, no wind"),
    Stop("measured", "7 Mar 2026", "25 to 50 km/h"),
    Stop("lesson", "8 Mar 2026", "Solder in four places first"),
    Stop("record", "9 Mar 2026", "exhaust roof raised by 1 mm", 3, 2),
)
BARS = (
    Bar("8 numbers: 8 of 8 held", 1, 4, "inside"),
    Bar("25 to 50 km/h: outside the band", 5, 7, "outside"),
    Bar("top speed: not measured yet", 5, None, "open"),
)
ROWS = (
    LedgerRow("squish gap at the bore wall, mean", "0.777 mm (0.753 to 0.802)", "0.790 ± 0.025 mm", 0.52, 1.0),
    LedgerRow("exhaust opens after top dead centre", "90.31° (90.04 to 90.57)", "90.65 ± 0.30°", 1.28, 1.12),
    LedgerRow("25 to 50 km/h", "8.20 s (7.60 to 8.80)", "9.50 ± 0.25 s", 2.17, 0.42, held=False),
    LedgerRow("top speed", "82.0 km/h (76.0 to 88.0)"),
)


def drawings() -> list[Drawing]:
    """The history as a line, and predictions beside what was measured."""
    return [
        timeline_view(History("club kart 98: its history", STOPS, BARS)),
        ledger_plot(ROWS, "club kart 98: predictions beside what was measured"),
    ]


if __name__ == "__main__":
    for one in drawings():
        (DOCS / "pictures" / f"{one.name}.svg").write_text(write_svg(one), encoding="utf-8")
