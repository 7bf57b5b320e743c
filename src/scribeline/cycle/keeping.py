"""Results of a curve in one file, and back: plain arrays with named axes, in NumPy's own archive (.npz).

Any program that reads NumPy archives can read it without scribeline:

    scribeline_results   version of this layout
    axes                 JSON: {array: [name of each of its axes]}
    speed_rpm, power_w, ...   one number for each speed, axes ["speed"]
    trace                axes ["speed", "quantity", "crank angle"]; trace_quantity and trace_deg_atdc name the last two
    history              axes ["revolution", "monitored"], all speeds one after the other; history_begins says where
"""

import json
import os
import zipfile
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import fields
from pathlib import Path
from typing import Any

import numpy as np

from scribeline.cycle.simulate import CycleResult
from scribeline.errors import CycleError

VERSION = 1
MARK = "scribeline_results"
TRACE_QUANTITY = ("cylinder_pa", "cylinder_k", "cylinder_fresh", "crankcase_pa", "reed_lift_m")
MONITORED = ("work_j", "trapped_kg", "crankcase_kg", "pipe_j")
_ARRAYS = ("trace", "history")
_SCALARS = tuple(one.name for one in fields(CycleResult) if one.name not in _ARRAYS)
_WHOLE = tuple(one.name for one in fields(CycleResult) if one.type in (int, "int"))


def save_results(results: Sequence[CycleResult], path: Path) -> None:
    """Write results, in their order, to one file. CycleError for none, and where the file cannot be written.

    What stood there before is kept until the new file is whole.
    """
    if not results:
        raise CycleError("no result to save\n    accepted: one or more\n    what to do: simulate something first")
    arrays: dict[str, Any] = {name: np.array([getattr(one, name) for one in results]) for name in _SCALARS}
    arrays["trace"] = np.array([one.trace for one in results])
    arrays["history"] = np.concatenate([one.history for one in results])
    arrays["history_begins"] = np.cumsum([0, *(len(one.history) for one in results)])
    bins = arrays["trace"].shape[2]
    arrays["trace_quantity"] = np.array(TRACE_QUANTITY)
    arrays["trace_deg_atdc"] = np.arange(bins) * 360.0 / bins
    arrays["history_monitored"] = np.array(MONITORED)
    axes = {name: ["speed"] for name in _SCALARS}
    axes |= {"trace": ["speed", "quantity", "crank angle"], "history": ["revolution", "monitored"]}
    arrays["axes"] = np.array(json.dumps(axes))
    arrays[MARK] = np.array(VERSION)
    unfinished = path.parent / f".results-{os.getpid()}.part"
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with unfinished.open("wb") as file:
            np.savez_compressed(file, **arrays)
        unfinished.replace(path)
    except OSError as error:
        with suppress(OSError):
            unfinished.unlink()
        raise CycleError(
            f"{path}: {error.strerror or error}\n    accepted: a file in a folder you may write to\n"
            "    what to do: choose another name"
        ) from None


def read_results(path: Path) -> list[CycleResult]:
    """Read what `save_results` wrote, every number as it was.

    Raises CycleError for a file that is not there, is damaged, is something else, or was written by another version.
    """
    try:
        with path.open("rb") as file, np.load(file, allow_pickle=False) as archive:
            held = {name: archive[name] for name in archive.files}
    except OSError as error:
        raise _refused(path, error.strerror or "not a NumPy archive") from None
    except (zipfile.BadZipFile, ValueError, EOFError, KeyError, AttributeError, TypeError) as error:
        raise _refused(path, f"damaged, or not a NumPy archive ({type(error).__name__})") from None
    return _results(path, held)


def _results(path: Path, held: Mapping[str, Any]) -> list[CycleResult]:
    if MARK not in held:
        raise _refused(path, "a NumPy archive, but not one of results")
    version = held[MARK]
    if version.shape != () or version != VERSION:
        raise _refused(path, f"written in layout {version}, this scribeline reads {VERSION}")
    lacking = [name for name in (*_SCALARS, *_ARRAYS, "history_begins") if name not in held]
    if lacking:
        raise _refused(path, f"written by another version: it lacks {', '.join(lacking)}")
    count = held["speed_rpm"].shape
    begins = held["history_begins"]
    sound = (
        len(count) == 1
        and all(held[name].shape == count and held[name].dtype.kind in "if" for name in _SCALARS)
        and held["trace"].ndim == 3
        and held["trace"].shape[:2] == (*count, len(TRACE_QUANTITY))
        and held["history"].ndim == 2
        and begins.shape == (count[0] + 1,)
        and begins[-1] == len(held["history"])
    )
    if not sound:
        raise _refused(path, "its arrays do not fit together")
    found = []
    for i in range(count[0]):
        values: dict[str, Any] = {
            name: int(held[name][i]) if name in _WHOLE else float(held[name][i]) for name in _SCALARS
        }
        history = held["history"][begins[i] : begins[i + 1]]
        found.append(CycleResult(**values, trace=held["trace"][i], history=history))
    return found


def _refused(path: Path, why: str) -> CycleError:
    return CycleError(
        f"{path}: {why}\n    accepted: a file that scribeline saved results to\n    what to do: simulate and save again"
    )
