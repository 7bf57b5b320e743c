"""What a run relied on and what it left: data that says the same as the code, numbers that are those of the run."""

import importlib
import pkgutil
from dataclasses import replace

import pytest

from scribeline import models
from scribeline.cycle.engine import Conditions, Knobs
from scribeline.cycle.recording import record
from scribeline.cycle.relied_on import left, relations
from scribeline.cycle.simulate import Running, Settings, run
from scribeline.models.relation import UNITS, Relation
from scribeline.sources import SOURCES
from tests.cycle.invented import engine

MODULES = [importlib.import_module(f"scribeline.models.{one.name}") for one in pkgutil.iter_modules(models.__path__)]
RELATIONS = [module.RELATION for module in MODULES if hasattr(module, "RELATION")]
NOT_IN_THE_CYCLE = {"woschni", "relation", "moist_air", "power_correction", "road_load", "standard_atmosphere"}


@pytest.fixture(scope="module")
def reed_run():
    running = Running(engine(reed=True), 9500.0, Settings(cell_m=0.02))
    result = run(running)
    return running.engine, [(result, record(running))]


def test_every_model_of_the_cycle_says_what_it_is_known_for() -> None:
    silent = {m.__name__.rpartition(".")[2] for m in MODULES if not hasattr(m, "RELATION")}
    assert silent <= NOT_IN_THE_CYCLE
    used = relations(engine(reed=True))
    assert {id(one) for one in RELATIONS} <= {id(one) for one in used}


@pytest.mark.parametrize("relation", RELATIONS, ids=lambda one: one.name)
def test_sources_ranges_and_knobs_are_sound(relation: Relation) -> None:
    assert relation.sources
    assert all(key in SOURCES for key in relation.sources)
    assert all(one.low < one.high and one.quantity in UNITS for one in relation.ranges)
    assert all(knob.source in SOURCES for knob in relation.knobs)


def test_a_knob_of_a_run_has_the_value_that_its_relation_states() -> None:
    stated = {knob.name: knob.value for one in RELATIONS for knob in one.knobs}
    for name, value in vars(Knobs()).items():
        if name not in ("octane", "scavenging_curve"):
            assert stated[name] == value, name


def test_a_constant_that_is_a_knob_stands_in_its_module_with_that_value() -> None:
    for module in MODULES:
        for knob in getattr(module, "RELATION", Relation("", "", ())).knobs:
            if knob.name.isupper():
                assert getattr(module, knob.name) == knob.value


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
