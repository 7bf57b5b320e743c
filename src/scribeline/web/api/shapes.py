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
    """The work in hand is kept as the next revision; or, where `record_toml` is sent, that, to the letter."""

    note: str = ""
    author: str | None = Field(None, description="who keeps it; the computer's user where left out")
    record_toml: str | None = None


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
    step: int | None = Field(description="the first edit of its step; null for that one itself")


class WorkShape(Shape):
    """The work in hand: the record under "record", and what each page keeps under its own key."""

    build: str
    number: int = Field(description="of its last edit")
    document: dict[str, Any]
    undoable: EditShape | None
    redoable: EditShape | None
    revision_number: int | None


class Put(Shape):
    """Put `after` at `path`, or take away what is there where it is null.

    `before` is what was seen there: where something else is there by now, the answer is 409 and holds both values.
    """

    path: str = Field(examples=["record.cylinder.bore_mm"])
    after: Any = None
    before: Any = None


class NewEdit(Put):
    """One edit."""

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


class JobShape(Shape):
    """Work in the background."""

    id: str
    what: str
    state: Literal["waiting", "running", "done", "stopped", "failed", "died"]
    progress: Any = None
    error: str | None = None
    has_result: bool = Field(description="whether it came to something, or had something when it was stopped")


class TrialShape(Shape):
    """A day of test runs."""

    name: str
    build: str | None
    revision: int | None
    note: str
    created_at: datetime


class AddedShape(Shape):
    """What became of a file that was added to a trial."""

    format: str
    runs: int
    notes: list[str]
    why_not: str = Field(description="empty where it was read")


class MovedShape(Shape):
    """How much went into a notebook."""

    builds: int
    revisions: int
    files: int
    trials: int


class Demonstration(Shape):
    """The invented engine that is in the notebook now."""

    build: str


class Kept(Shape):
    """Number of the entry that was kept."""

    entry: int


class Said(Shape):
    """What was done, in words."""

    words: str


class RunsPlan(Shape):
    """Runs to drive, in their order."""

    runs: int = Field(description="of each setup")
    order: list[dict[str, str]]
    words: str
    cautions: list[dict[str, Any]]


class NewStep(Shape):
    """Several places edited as one step: one undo, all of it or nothing. Each place is as for an edit."""

    label: str = Field(description="what a builder reads beside undo")
    puts: list[Put] = Field(min_length=1)
