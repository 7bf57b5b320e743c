"""What a run relied on and what it left: data that says the same as the code, numbers that are those of the run."""

import importlib
import pkgutil
from dataclasses import replace

import pytest

from scribeline import models
from scribeline.cycle.engine import KNOBS, Conditions, Knobs
from scribeline.cycle.recording import record
from scribeline.cycle.relied_on import left, relations
from scribeline.cycle.simulate import CycleResult, Running, Settings, run, simulate
from scribeline.models.relation import UNITS, Relation
from scribeline.sources import SOURCES
from tests.cycle.invented import engine

MODULES = [importlib.import_module(f"scribeline.models.{one.name}") for one in pkgutil.iter_modules(models.__path__)]
RELATIONS = [module.RELATION for module in MODULES if hasattr(module, "RELATION")]
# what is taken where nobody measured is listed by name with the run; the band flags results and changes none
LISTED_BY_NAME = {"usual", "known_band"}
# of the arithmetic, not of the engine: what it changes is the error that a finer run shows
NUMERICAL = {"cell_length"}
NOT_IN_THE_CYCLE = {"woschni", "relation", "moist_air", "power_correction", "road_load", "standard_atmosphere"}


@pytest.fixture(scope="module")
def reed_run():
    running = Running(engine(reed=True), 9500.0, Settings(cell_m=0.02))
    result = run(running)
    return running.engine, [(result, record(running))]


def test_every_model_of_the_cycle_says_what_it_is_known_for() -> None:
    silent = {m.__name__.rpartition(".")[2] for m in MODULES if not hasattr(m, "RELATION")}
    assert silent <= NOT_IN_THE_CYCLE | LISTED_BY_NAME | NUMERICAL
    used = relations(engine(reed=True))
    assert {id(one) for one in RELATIONS} <= {id(one) for one in used}


@pytest.mark.parametrize("relation", RELATIONS, ids=lambda one: one.name)
def test_sources_ranges_and_knobs_are_sound(relation: Relation) -> None:
    assert relation.sources
    assert all(key in SOURCES for key in relation.sources)
    assert all(one.low < one.high and one.quantity in UNITS for one in relation.ranges)
    assert all(one.source in SOURCES for one in (*relation.knobs, *relation.constants))
    assert all(knob.low <= knob.value <= knob.high for knob in relation.knobs)


def test_every_knob_that_is_stated_can_be_turned_and_has_the_value_that_its_relation_states() -> None:
    stated = {knob.name: knob.value for one in RELATIONS for knob in one.knobs}
    assert set(KNOBS) == set(stated)
    assert {
        name: value for name, value in vars(Knobs()).items() if name not in ("octane", "scavenging_curve")
    } == stated


def test_a_constant_stands_in_its_module_with_the_value_that_is_stated() -> None:
    for module in MODULES:
        for one in getattr(module, "RELATION", Relation("", "", ())).constants:
            if one.name.isupper():
                assert getattr(module, one.name) == one.value


def blown_down(result: CycleResult) -> float:
    """Cylinder pressure some 117 degrees after top dead centre over that before the exhaust opens at 91.

    With long cells not every half degree has a step.
    """
    late, early = result.trace[0, 230:240], result.trace[0, 174:182]
    return late[late > 0].mean() / early[early > 0].mean()


# What turning each knob from one value to another must do to the invented engine; none may do nothing.
TURNED = {
    "burn_deg": (40.0, 70.0, lambda a, b: b.peak_deg_atdc > a.peak_deg_atdc),
    "wiebe_a": (3.0, 6.9, lambda a, b: b.peak_pa > a.peak_pa),
    "wiebe_m": (1.0, 4.0, lambda a, b: b.peak_deg_atdc > a.peak_deg_atdc),
    "squish_slope": (0.0, 1.0, lambda a, b: b.peak_pa > a.peak_pa),
    "annand_a": (0.3, 0.9, lambda a, b: b.lost_j > a.lost_j),
    "mixing": (0.2, 1.0, lambda a, b: b.scavenging_efficiency < a.scavenging_efficiency),
    "fanning": (0.0, 0.03, lambda a, b: b.delivery_ratio != a.delivery_ratio),
    "analogy": (0.0, 4.0, lambda a, b: b.pipe_k < a.pipe_k),
    "combustion_efficiency": (0.8, 1.0, lambda a, b: b.heat_j > a.heat_j),
    "friction": (0.0, 300.0, lambda a, b: b.bmep_pa < a.bmep_pa and a.bmep_pa == a.imep_pa),
    "open_end_radii": (0.0, 1.0, lambda a, b: b.delivery_ratio != a.delivery_ratio),
    "exhaust_out": (0.5, 0.9, lambda a, b: blown_down(b) < blown_down(a)),
    "exhaust_in": (0.4, 1.0, lambda a, b: b.trapped_kg != a.trapped_kg),
    "transfer_out": (0.4, 0.9, lambda a, b: b.delivery_ratio != a.delivery_ratio),
    "transfer_in": (0.4, 0.9, lambda a, b: b.delivery_ratio != a.delivery_ratio),
    "intake_out": (0.4, 0.9, lambda a, b: b.delivery_ratio != a.delivery_ratio),
    "intake_in": (0.4, 0.9, lambda a, b: b.delivery_ratio != a.delivery_ratio),
    "reed_out": (0.4, 0.9, lambda a, b: b.delivery_ratio > a.delivery_ratio),
    "reed_in": (0.4, 0.9, lambda a, b: b.delivery_ratio != a.delivery_ratio),
    "funnel_in": (0.5, 1.0, lambda a, b: b.delivery_ratio != a.delivery_ratio),
    "barely_open": (0.6, 1.4, lambda a, b: blown_down(b) < blown_down(a)),
    "throttle_coefficient": (0.4, 1.0, lambda a, b: b.delivery_ratio > a.delivery_ratio),
}


@pytest.mark.parametrize("name", KNOBS)
def test_turning_a_knob_does_what_it_says(name: str) -> None:
    low, high, then = TURNED[name]
    throttle = 0.5 if name.startswith("throttle") else 1.0
    one = replace(engine(reed=name.startswith("reed")), throttle=throttle, squish_over_piston=1.6)
    rough = {"cell_m": 0.03, "tolerance": 0.05}
    first, second = (simulate(one, 6000.0, Settings(**rough, knobs=Knobs(**{name: v}))) for v in (low, high))
    assert then(first, second)


def test_a_run_lists_the_knobs_as_they_were_turned() -> None:
    turned = {k.name: k for one in relations(engine(), Knobs(mixing=0.5)) for k in one.knobs}
    assert (turned["mixing"].value, turned["mixing"].usual) == (0.5, 0.7)
    assert turned["burn_deg"].usual is None
    curve = {
        c.name: c.value for one in relations(engine(), Knobs(scavenging_curve=(0.0, -1.0, -0.2))) for c in one.constants
    }
    assert [curve[f"scavenging_curve k{i}"] for i in range(3)] == [0.0, -1.0, -0.2]


def test_what_a_small_hot_engine_leaves_is_said_with_its_numbers(reed_run) -> None:
    one, runs = reed_run
    used, found = left(one, runs, Conditions())
    said = [each.words for each in found]
    assert "Annand's heat loss: bore 50 mm, known for 100 to 300 mm" in said
    hot = next(each for each in found if each.range.quantity == "gas in the cylinder")
    assert hot.highest == pytest.approx(runs[0][1].cylinder_k.max())
    assert len(used) == 12


def test_a_range_that_is_kept_is_not_mentioned_and_one_that_is_left_is(reed_run) -> None:
    one, runs = reed_run
    (result, rec) = runs[0]

    def said(**change) -> list[str]:
        found = left(one, [(replace(result, **change), rec)], Conditions())[1]
        return [each.words for each in found]

    assert not any("crank speed" in words for words in said())
    assert "Wiebe's burn: crank speed 15500 rev/min, known for 1000 to 15000 rev/min" in said(speed_rpm=15500.0)
    assert "scavenging: delivery ratio 1.7, known for 0 to 1.5" in said(delivery_ratio=1.7)
    assert any("air outside: air pressure 550 hPa" in each.words for each in left(one, runs, Conditions(5.5e4))[1])


def test_an_engine_without_petals_relies_on_none() -> None:
    assert "reed petals" not in {one.name for one in relations(engine())}
