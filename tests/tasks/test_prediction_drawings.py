"""The simulation's promise drawn beside the runs: from a trial in the notebook to two drawings."""

from pathlib import Path

import pytest

from scribeline.errors import SheetError
from scribeline.tasks import trials as tasks
from scribeline.tasks.prediction_drawings import prediction_drawings
from scribeline.tasks.trial_prediction import Seen, road_of_curve
from scribeline.tasks.trial_vehicle import vehicle_of
from scribeline.tasks.verdict_files import picture
from scribeline.tasks.verdicts import Compared, compare_named
from scribeline.trials.gates import Gate
from tests.examples import edited
from tests.tasks.curves import curve_of

GATES = [Gate(40 / 3.6, 60 / 3.6), Gate(30 / 3.6, 300 / 3.6)]


@pytest.fixture(scope="module")
def compared(tmp_path_factory: pytest.TempPathFactory) -> Compared:
    where = str(tmp_path_factory.mktemp("day") / "notebook.sqlite")
    tasks.new_trial("typed", author="Kim", where=where)
    tasks.add_files("typed", [Path("examples/gate-times.csv")], author="Kim", where=where)
    return compare_named(["typed"], where=where)


def test_gates_that_were_predicted_and_measured_are_drawn(compared: Compared) -> None:
    found = road_of_curve(curve_of(), vehicle_of(edited()), GATES)
    measured = {GATES[0].name: [Seen("stock", 2.0, 0.1, 4)]}
    (drawing,) = prediction_drawings(compared, [(found, measured)])
    assert drawing.name == "measured-against-predicted"
    assert "stock took 2.00 s" in drawing.description
    assert "300 km/h" not in drawing.description  # never reached, so never predicted
    assert picture(drawing, ".png")[:8] == b"\x89PNG\r\n\x1a\n"
    assert b'class="sheet"' not in picture(drawing, ".svg", transparent=True)
    assert prediction_drawings(compared, [(found, {})]) == []


def test_the_simulated_curve_lies_beside_the_power_of_the_runs(
    compared: Compared, monkeypatch: pytest.MonkeyPatch
) -> None:
    from scribeline.marking.trial_plot import Bundle
    from scribeline.tasks import prediction_drawings as module

    found = road_of_curve(curve_of(), vehicle_of(edited()), GATES)
    assert found.power_kw == pytest.approx([point.got.power_w / 1e3 for point in curve_of().points])
    x = (7000.0, 9000.0)
    runs = [Bundle(name, (((x), (8.0, 9.0)),), (x, (8.0, 9.0))) for name in ("one", "two", "three", "four")]
    monkeypatch.setattr(module, "power_bundles", lambda _: runs[:2])
    (drawing,) = prediction_drawings(compared, [(found, {})])
    assert drawing.name == "power-against-simulated"
    about = [group.about for group in drawing.groups]
    assert "simulated: band of about 95 %" in about
    assert "two: mean" in about
    monkeypatch.setattr(module, "power_bundles", lambda _: runs)
    with pytest.raises(SheetError, match="4 setups and a simulation"):
        prediction_drawings(compared, [(found, {})])
