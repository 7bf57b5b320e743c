"""Results in a file and back, read without scribeline too, and files that are refused."""

import dataclasses
import json
from pathlib import Path

import numpy as np
import pytest

from scribeline import cycle
from scribeline.cycle import CycleResult, Settings, power_curve, read_results, save_results
from scribeline.errors import CycleError
from tests.cycle.invented import engine


@pytest.fixture(scope="module")
def results() -> list[CycleResult]:
    return power_curve(engine(), [8000.0, 8500.0], Settings(cell_m=0.03, tolerance=0.02))


def test_every_number_comes_back_as_it_was(results, tmp_path: Path):
    save_results(results, tmp_path / "new" / "curve.npz")
    back = read_results(tmp_path / "new" / "curve.npz")
    for was, got in zip(results, back, strict=True):
        for field in dataclasses.fields(CycleResult):
            a, b = getattr(was, field.name), getattr(got, field.name)
            assert type(a) is type(b) or np.isscalar(a)
            np.testing.assert_array_equal(a, b, err_msg=field.name)


def test_numpy_alone_can_read_it_and_every_axis_has_a_name(results, tmp_path: Path):
    save_results(results, tmp_path / "a.npz")
    with np.load(tmp_path / "a.npz", allow_pickle=False) as held:
        axes = json.loads(str(held["axes"]))
        for name, names in axes.items():
            assert held[name].ndim == len(names), name
        assert held["trace"].shape[1:] == (held["trace_quantity"].size, held["trace_deg_atdc"].size)
        assert held["power_w"].tolist() == [one.power_w for one in results]


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("none.npz", None, "No such file"),
        ("text.npz", b"speed,power\n8000,9\n", "not a NumPy archive"),
        ("empty.npz", b"", "not a NumPy archive"),
    ],
)
def test_what_is_no_archive_is_refused(name, content, said, tmp_path: Path):
    if content is not None:
        (tmp_path / name).write_bytes(content)
    with pytest.raises(CycleError, match=said):
        read_results(tmp_path / name)


def test_a_single_array_is_refused(tmp_path: Path):
    np.save(tmp_path / "one.npy", np.arange(3.0))
    with pytest.raises(CycleError, match="not a NumPy archive"):
        read_results(tmp_path / "one.npy")


def test_a_damaged_file_is_refused_wherever_it_is_cut_or_changed(results, tmp_path: Path):
    save_results(results, tmp_path / "a.npz")
    whole = (tmp_path / "a.npz").read_bytes()
    for at in np.linspace(1, len(whole) - 1, 25).astype(int):
        (tmp_path / "cut.npz").write_bytes(whole[:at])
        with pytest.raises(CycleError, match="what to do"):
            read_results(tmp_path / "cut.npz")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"scribeline_results": None}, "not one of results"),
        ({"scribeline_results": np.array(99)}, "layout 99"),
        ({"power_w": None}, "lacks power_w"),
        ({"power_w": np.zeros(5)}, "do not fit together"),
        ({"speed_rpm": np.array(["a", "b"])}, "do not fit together"),
        ({"history_begins": np.array([0, 3, 10**6])}, "do not fit together"),
    ],
)
def test_a_foreign_or_changed_archive_is_refused(results, change, said, tmp_path: Path):
    save_results(results, tmp_path / "a.npz")
    with np.load(tmp_path / "a.npz") as held:
        arrays = {name: held[name] for name in held.files}
    for name, value in change.items():
        del arrays[name]
        if value is not None:
            arrays[name] = value
    np.savez(tmp_path / "b.npz", **arrays)
    with pytest.raises(CycleError, match=said):
        read_results(tmp_path / "b.npz")


def test_nothing_and_nowhere_are_refused(results, tmp_path: Path):
    with pytest.raises(CycleError, match="no result to save"):
        save_results([], tmp_path / "a.npz")
    (tmp_path / "file").write_text("")
    with pytest.raises(CycleError, match="choose another name"):
        save_results(results, tmp_path / "file" / "a.npz")
    assert not list(tmp_path.glob(".results*"))


def test_the_room_hands_out_what_it_promises():
    for name in cycle.__all__:
        assert getattr(cycle, name).__doc__
    assert callable(cycle.simulate)
