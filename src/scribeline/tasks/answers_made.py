"""What an answer for programs may be besides JSON, and texts laid down as files for tasks that read files."""

import io
import tempfile
import zipfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from scribeline.errors import ScribelineError
from scribeline.plan.phrases import read_step
from scribeline.plan.plan_file import read_plan
from scribeline.plan.steps import Plan

MEDIA_TYPES = {
    ".json": "application/json", ".csv": "text/csv; charset=utf-8", ".txt": "text/plain; charset=utf-8",
    ".html": "text/html; charset=utf-8", ".svg": "image/svg+xml", ".png": "image/png", ".zip": "application/zip",
    ".toml": "application/toml", ".npz": "application/octet-stream",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}  # fmt: skip


@dataclass(frozen=True)
class Made:
    """A file that was made for a program. name : what it is called, with its ending"""

    data: bytes
    name: str

    @property
    def media_type(self) -> str:
        """By the ending of its name."""
        return MEDIA_TYPES[Path(self.name).suffix]


def made(content: str | bytes, name: str) -> Made:
    """A text or bytes as a file."""
    return Made(content.encode() if isinstance(content, str) else content, name)


def zipped(files: Mapping[str, bytes], name: str) -> Made:
    """Several files as one."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for one, data in files.items():
            archive.writestr(one, data)
    return Made(packed.getvalue(), name)


@contextmanager
def laid_down(texts: Mapping[str, str | None]) -> Iterator[Path]:
    """A folder of their own with texts as files, None left out, gone at the end; no refusal names the folder."""
    with tempfile.TemporaryDirectory(prefix="scribeline-") as name:
        folder = Path(name)
        for one, text in texts.items():
            if text is not None:
                (folder / one).write_bytes(text.encode())
        try:
            yield folder
        except ScribelineError as refusal:
            refusal.args = tuple(str(one).replace(f"{folder}/", "") for one in refusal.args)
            raise


def plan_of(steps: Any, plan_toml: str | None) -> Plan:
    """The plan that a program means: that of a plan file, then steps as a builder would say them. PlanError."""
    from dataclasses import replace

    known = read_plan(plan_toml) if plan_toml else Plan(())
    return replace(known, steps=(*known.steps, *(read_step(text) for text in steps)))
