"""What the simulation had promised, drawn beside what was measured: gate times, and power over engine speed."""

import re
from collections.abc import Sequence

from scribeline.errors import SheetError
from scribeline.marking.measured_plot import Held, MeasuredPlot, measured_plot
from scribeline.marking.measured_plot import Seen as SeenMark
from scribeline.marking.shapes import Drawing
from scribeline.marking.trial_plot import Bundle, BundlePlot, bundle_plot
from scribeline.tasks.trial_prediction import CURVE_SHARE, Measured, RoadPrediction
from scribeline.tasks.verdict_drawings import MOST_DRAWN, power_bundles
from scribeline.tasks.verdicts import Compared


def prediction_drawings(compared: Compared, predicted: Sequence[tuple[RoadPrediction, Measured]]) -> list[Drawing]:
    """For each trial's build: its gates measured against predicted, and its curve with the runs' power over it.

    Nothing is drawn of a gate that has no prediction or was not measured.
    """
    drawings = []
    for number, (prediction, measured) in enumerate(predicted, start=1):
        suffix = "" if len(predicted) == 1 else f"-{number}"
        if (gates := _gates(prediction, measured, suffix)) is not None:
            drawings.append(gates)
        if (power := _power(compared, prediction, suffix)) is not None:
            drawings.append(power)
    return drawings


def _gates(prediction: RoadPrediction, measured: Measured, suffix: str) -> Drawing | None:
    rows = tuple(
        Held(
            gate.name, "s", one.value, one.low, one.high,
            tuple(SeenMark(seen.setup, seen.mean, seen.half_width) for seen in measured.get(gate.name, ())),
        )
        for gate, one in prediction.gates if not isinstance(one, str)
    )  # fmt: skip
    if not any(row.seen for row in rows):
        return None
    said = "; ".join(
        f"{row.name}: predicted {row.predicted:.2f} s ({row.low:.2f} to {row.high:.2f}), "
        + ", ".join(f"{seen.name} took {seen.value:.2f} s" for seen in row.seen)
        for row in rows if row.seen
    )  # fmt: skip
    return measured_plot(
        MeasuredPlot(
            f"measured-against-predicted{suffix}",
            f"{prediction.name}: gate times, measured against predicted",
            f"{said}.",
            rows,
        )
    )


def _power(compared: Compared, prediction: RoadPrediction, suffix: str) -> Drawing | None:
    """The simulated curve with its band, and over it the mean of each setup's runs with theirs."""
    own = [Bundle(one.name, (), one.middle, one.band) for one in power_bundles(compared)]
    if not own or len(prediction.rpm) < 2:
        return None
    if len(own) + 1 > MOST_DRAWN:
        raise SheetError(
            f"{len(own)} setups and a simulation in one drawing\n    accepted: at most {MOST_DRAWN} together\n"
            "    what to do: name fewer setups"
        )
    low, high = ([kw * (1.0 + sign * CURVE_SHARE) for kw in prediction.power_kw] for sign in (-1.0, 1.0))
    simulated = Bundle("simulated", (), (prediction.rpm, prediction.power_kw), (prediction.rpm, low, high))
    # The simulation comes last, so that setups keep the pens that they have in the other drawings.
    return bundle_plot(
        BundlePlot(
            "power-against-simulated" + re.sub("[^-0-9]", "", suffix),
            "power from speed, against the simulated curve",
            f"Crank power against engine speed for {', '.join(one.name for one in own)}, and as simulated for "
            f"{prediction.name} with a band of {100 * CURVE_SHARE:g} %.",
            "engine speed, rpm",
            "power at the crank, kW: means of the runs, and simulated",
            (*own, simulated),
            from_zero=True,
        )
    )
