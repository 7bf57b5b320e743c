"""Loads the reference files of this folder and compares our numbers with them; see README.md.

A reference file holds numbers worked out or read outside this code, each with its provenance and tolerance. A test
takes its checks with `each` and compares with `assert_close`; `not_run` lists every check of a file that no test
function takes, so that none can be skipped silently:

    @each("01_kinematics", "kin-table-")
    def test_table(check: Check) -> None:
        assert_close(check, {"theta_deg": ..., "depth_mm": ..., ...})

    def test_every_check_is_run() -> None:
        assert not_run("01_kinematics", __name__) == []
"""

import importlib
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest


@dataclass(frozen=True, eq=False)
class Check:
    """One check of a reference file. A table is kept as one array per column in `expected`."""

    file: str
    id: str
    inputs: dict[str, Any]
    expected: dict[str, Any]
    rtol: float | None
    atol: float | None
    provenance_class: str

    @property
    def left_out(self) -> bool:
        """True where the file says that it gives no number, and why, in place of one."""
        return self.provenance_class == "left out"


@cache
def load(file: str) -> dict[str, Check]:
    """Return {check id: Check} of `file`.toml in this folder, in the order of the file."""
    with Path(__file__).with_name(f"{file}.toml").open("rb") as stream:
        entries = tomllib.load(stream)["check"]
    loaded = {
        entry["id"]: Check(
            file=file,
            id=entry["id"],
            inputs=entry.get("inputs", {}),
            expected=_by_column(entry["expected"]),
            rtol=entry.get("rtol"),
            atol=entry.get("atol"),
            provenance_class=entry["provenance_class"],
        )
        for entry in entries
    }
    assert len(loaded) == len(entries), f"{file}.toml: a check id stands twice"
    return loaded


def _by_column(expected: dict[str, Any]) -> dict[str, Any]:
    if set(expected) != {"columns", "rows"}:
        return expected
    table = np.array(expected["rows"], dtype=np.float64)
    return {name: table[:, i] for i, name in enumerate(expected["columns"])}


def each(file: str, *prefixes: str) -> pytest.MarkDecorator:
    """Parametrize a test over every check of `file` whose id starts with one of `prefixes` (a full id is one)."""
    chosen = [check for check in load(file).values() if check.id.startswith(prefixes)]
    for prefix in prefixes:
        assert any(check.id.startswith(prefix) for check in chosen), f"{file}.toml has no check {prefix}..."
    return pytest.mark.parametrize("check", chosen, ids=[check.id for check in chosen])


def assert_close(check: Check, got: Mapping[str, Any], judged_rtol: float | None = None) -> None:
    """Compare every expected value of `check`: |got - expected| <= atol + rtol*|expected|, booleans exactly.

    got : {name: value or array}; exactly the names of the check, so that no value of it can be forgotten.
    judged_rtol : the tolerance of a check that brings none of its own, which leaves it to the reader's judgement.
    """
    assert set(got) == set(check.expected), f"{check.id}: names differ: {set(got) ^ set(check.expected)}"
    brings_own = check.rtol is not None or check.atol is not None
    only_booleans = all(isinstance(expected, bool) for expected in check.expected.values())
    assert only_booleans or brings_own == (judged_rtol is None), (
        f"{check.id}: judged_rtol is for checks without a tolerance, and those need it"
    )
    rtol, atol = (check.rtol or 0.0, check.atol or 0.0) if brings_own else (judged_rtol or 0.0, 0.0)
    for name, expected in check.expected.items():
        if isinstance(expected, bool):
            assert bool(got[name]) is expected, f"{check.id}: {name}"
        else:
            np.testing.assert_allclose(
                got[name], expected, rtol=rtol, atol=atol, equal_nan=False, err_msg=f"{check.id}: {name}"
            )


def not_run(file: str, *modules: str) -> list[str]:
    """List the check ids of `file` that no test function of `modules` (dotted names) takes."""
    taken = {
        value.id
        for module in modules
        for name, function in vars(importlib.import_module(module)).items()
        if name.startswith("test_")
        for mark in getattr(function, "pytestmark", [])
        if mark.name == "parametrize"
        for value in mark.args[1]
        if isinstance(value, Check) and value.file == file
    }
    return [check_id for check_id in load(file) if check_id not in taken]
