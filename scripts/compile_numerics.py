"""Compile the numerics once, by one process, before the two halves of the tests begin. The Makefile calls this.

A fresh machine has none of the compiled functions that scribeline keeps in its cache folder. Each process of the tests
that comes to them would compile them for itself, side by side on the same cores: the two halves, and every server's
workers, whose walks would wait minutes for their first curve. Here that is done beside the checks of style and types,
which leave a core free. With a filled cache it is over in some seconds.
"""

from pathlib import Path

from scribeline.engine import read_record
from scribeline.plan.merits import SEARCH, sweep_many
from scribeline.tasks import curve_warm, measuring_state
from scribeline.tasks.curve import power_curve

EXAMPLE = Path(__file__).resolve().parent.parent / "examples" / "club-kart-98.toml"
SPEED_RPM = 8000.0


def main() -> None:
    """What Measure works out; a quick curve and a fine one; several engines side by side, as a search has them."""
    record = read_record(EXAMPLE.read_text(encoding="utf-8"))
    measuring_state.warm()
    curve_warm.warm()
    power_curve(record, [SPEED_RPM])
    list(sweep_many([record] * 8, [SPEED_RPM], SEARCH))


if __name__ == "__main__":
    main()
