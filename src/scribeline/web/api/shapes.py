"""What goes into the API and what comes out of it, as the OpenAPI document describes it."""

from datetime import datetime
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field


class Shape(BaseModel):
    """Base of all: read from our own objects; what is sent may hold nothing that is not known."""

    model_config = ConfigDict(from_attributes=True, extra="forbid")


class BuildShape(Shape):
    """A physical cylinder or engine through its life."""

    name: str
    note: str
    created_at: datetime
    revisions: int = Field(description="how many were kept")
    latest: int | None = Field(description="number of the latest revision")
    last_kept_at: datetime | None
    files: int


class NewBuild(Shape):
    """A cylinder to begin; `record` may be unfinished, as its TOML would have it."""

    name: str
    note: str = ""
    record: dict[str, Any] | None = None


class RevisionShape(Shape):
    """A record as it was kept. `record_toml` is its text to the letter."""

    number: int
    parent_number: int | None
    author: str
    note: str
    kept_at: datetime
    record_sha256: str
    record_toml: str


class ToKeep(Shape):
    """The work in hand is kept as the next revision."""

    note: str = ""
    author: str | None = Field(None, description="who keeps it; the computer's user where left out")


class ChangeShape(Shape):
    """A field of the record that differs; null where it is not there."""

    path: str
    before: Any = None
    after: Any = None


class EditShape(Shape):
    """One entry of the journal of edits."""

    number: int
    kind: str
    of: int | None = Field(description="the edit that an undo or redo is about")
    path: str
    before: Any
    after: Any
    label: str
    device: str
    made_at: datetime


class WorkShape(Shape):
    """The work in hand: the record under "record", and what each page keeps under its own key."""

    build: str
    number: int = Field(description="of its last edit")
    document: dict[str, Any]
    undoable: EditShape | None
    redoable: EditShape | None
    revision_number: int | None


class NewEdit(Shape):
    """Put `after` at `path`, or take away what is there where it is null.

    `before` is what was seen there: where something else is there by now, the answer is 409 and holds both values.
    """

    path: str = Field(examples=["record.cylinder.bore_mm"])
    after: Any = None
    before: Any = None
    label: str = Field(description="what a builder reads beside undo", examples=["bore 50.02 mm"])


class FileShape(Shape):
    """A file that was attached to a build."""

    id: str
    name: str
    media_type: str
    size_bytes: int
    sha256: str
    revision_number: int | None
    attached_at: datetime


class WhatIf(Shape):
    """Steps as a builder would say them, after those of a plan file where one is given."""

    steps: list[str] = Field([], examples=[["raise exhaust roof at exhaust: 1 mm"]])
    plan_toml: str | None = None
    cut_list: bool = False


class CurveWish(Shape):
    """A power curve to be worked out in the background."""

    speeds: str | None = Field(None, description="FIRST:LAST:STEP in rev/min", examples=["5000:12000:500"])
    throttle: float = 1.0
    cell_mm: float = Field(10.0, description="longer cells are quicker and coarser")


class SheetsWish(Shape):
    """Sheets to print and mark out by."""

    steps: list[str] = []
    plan_toml: str | None = None
    paper: str = "A4"
    formats: str = Field("pdf", description="of pdf, svg and dxf, with commas between")
    only: list[str] = []
    bar_across: str | None = Field(None, description="what the 100 mm bar along the short edge measured")
    bar_up: str | None = Field(None, description="what the one along the long edge measured")


class JobShape(Shape):
    """Work in the background."""

    id: str
    what: str
    state: Literal["waiting", "running", "done", "stopped", "failed", "died"]
    progress: Any = None
    error: str | None = None


class TrialShape(Shape):
    """A day of test runs."""

    name: str
    build: str | None
    revision: int | None
    note: str
    created_at: datetime


class NewTrial(Shape):
    """A trial to begin. `gates` such as "40-80 km/h", `air` such as "22 C 1008 hPa", as at the command line."""

    name: str
    build: str | None = None
    revision: int | None = None
    note: str = ""
    gates: list[str] = []
    air: str | None = None
    band: str | None = None
    way: str | None = None


class AddedShape(Shape):
    """What became of a file that was added to a trial."""

    format: str
    runs: int
    notes: list[str]
    why_not: str = Field(description="empty where it was read")


class CompareWish(Shape):
    """Trials to hold against each other, and setups in them; the first is what the others are held against."""

    trials: list[str]
    setups: list[str] = []
    measure: str | None = None
