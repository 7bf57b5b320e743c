"""`scribeline notebook ...`: keep records, look at their history, move the notebook."""

import json
import sys
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from scribeline.notebook import Attachment

app = typer.Typer(no_args_is_help=True, help="Keep every record of every cylinder, with its history.")

Where = Annotated[
    str | None,
    typer.Option(
        "--notebook",
        metavar="PATH-or-URL",
        help="The notebook; else SCRIBELINE_NOTEBOOK, else the one in your data folder.",
    ),
]
BuildName = Annotated[str, typer.Argument(metavar="BUILD", help="Name of the build.")]


def _tell(sentence: str) -> None:
    print(sentence, file=sys.stderr)


@app.command()
def keep(
    engine: Annotated[Path, typer.Argument(metavar="ENGINE.toml", help="The engine record.")],
    build: Annotated[str | None, typer.Option(help="Which cylinder or engine; else the name in the record.")] = None,
    note: Annotated[str, typer.Option(help="What was done, or why this is kept.")] = "",
    build_note: Annotated[str | None, typer.Option(help="What this cylinder is; only when it is new.")] = None,
    author: Annotated[str | None, typer.Option(help="Who keeps it; else your user name.")] = None,
    attach: Annotated[list[Path] | None, typer.Option(metavar="FILE", help="A photograph, scan, ...; repeat.")] = None,
    notebook: Where = None,
) -> None:
    """Keep a record as the next revision of a build. A record that is refused, or has not changed, keeps nothing."""
    from scribeline.tasks.notebook import keep_record

    kept = keep_record(
        engine,
        build=build,
        note=note,
        build_note=build_note,
        author=author,
        attach=attach or [],
        where=notebook,
        tell=_tell,
    )
    revision = kept.revision
    origin = "a new build" if kept.new_build else f"made from revision {revision.parent_number}"
    print(f"Kept as revision {revision.number} of {revision.build_name!r}, {origin}.")
    _print_files(kept.attachments)


@app.command()
def demonstration(notebook: Where = None) -> None:
    """Keep the invented kart with its whole story: measured, cut, foretold, driven, to try every step on."""
    from scribeline.tasks.cylinders import begin_demonstration

    print(f"In the notebook: {begin_demonstration(where=notebook).build!r}, invented for demonstration.")


@app.command()
def attach(
    build: BuildName,
    files: Annotated[list[Path], typer.Argument(metavar="FILE...", help="Photographs, scans, anything.")],
    revision: Annotated[int | None, typer.Option(metavar="NUMBER", help="The revision they belong to.")] = None,
    notebook: Where = None,
) -> None:
    """Attach files to a build, or to one revision of it."""
    from scribeline.tasks.notebook import attach_files

    _print_files(attach_files(build, files, revision=revision, where=notebook, tell=_tell))


@app.command("list")
def list_(notebook: Where = None) -> None:
    """List the builds in the notebook."""
    from scribeline.tasks.notebook import list_builds

    rows = [("build", "revisions", "files", "last kept", "note")]
    for one in list_builds(where=notebook, tell=_tell):
        last = _time(one.last_kept_at) if one.last_kept_at else "-"
        rows.append((one.build.name, str(one.revision_count), str(one.file_count), last, _one_line(one.build.note)))
    _print_table(rows)


@app.command()
def show(
    build: BuildName,
    number: Annotated[int | None, typer.Argument(metavar="[NUMBER]", help="One revision, with its record.")] = None,
    toml: Annotated[bool, typer.Option("--toml", help="Print only the record, as it was kept.")] = False,
    notebook: Where = None,
) -> None:
    """Show the history of a build, or one revision of it."""
    from scribeline.tasks.notebook import show_build, show_revision

    if number is None and not toml:
        history = show_build(build, where=notebook, tell=_tell)
        print(f"{history.build.name}, since {_time(history.build.created_at)}")
        if history.build.note:
            print(history.build.note)
        rows = [("revision", "from", "kept", "author", "note")]
        for one in history.revisions:
            origin = str(one.parent_number or "-")
            rows.append((str(one.number), origin, _time(one.kept_at), one.author, _one_line(one.note)))
        print()
        _print_table(rows)
        if history.attachments:
            print()
        _print_files(history.attachments)
        return
    revision, files = show_revision(build, number, where=notebook, tell=_tell)
    if not toml:
        origin = f", made from revision {revision.parent_number}" if revision.parent_number else ""
        print(f"{revision.build_name}, revision {revision.number}{origin}")
        print(f"kept {_time(revision.kept_at)} by {revision.author}")
        print(f"SHA-256 of the record: {revision.record_sha256}")
        if revision.note:
            print(revision.note)
        _print_files(files)
        print()
    sys.stdout.flush()
    sys.stdout.buffer.write(revision.record_toml.encode())  # to the letter, line ends too
    sys.stdout.buffer.flush()


@app.command()
def diff(
    build: BuildName,
    before: Annotated[int | None, typer.Argument(metavar="[BEFORE]", help="Else the one it was made from.")] = None,
    after: Annotated[int | None, typer.Argument(metavar="[AFTER]", help="Else the latest.")] = None,
    notebook: Where = None,
) -> None:
    """Show what changed between two revisions, field by field."""
    from scribeline.tasks.notebook import compare_revisions

    found = compare_revisions(build, before, after, where=notebook, tell=_tell)
    print(f"{found.after.build_name}: revision {found.before.number} -> {found.after.number}")
    if found.same_text:
        print("The two records are identical.")
    elif not found.changes:
        print("No field differs; the text does, in its comments or layout.")
    else:
        print()
        rows = [("field", "before", "after")]
        rows += [(one.path, _shown(one.before), _shown(one.after)) for one in found.changes]
        _print_table(rows)


@app.command()
def export(
    path: Annotated[Path, typer.Argument(metavar="FILE.zip", help="The file to write; it must not be there yet.")],
    notebook: Where = None,
) -> None:
    """Write the whole notebook into one zip of TOML, JSON and files."""
    from scribeline.tasks.notebook import export_notebook

    moved = export_notebook(path, where=notebook, tell=_tell)
    print(f"Wrote {path}: {_count(moved.builds, moved.revisions, moved.files, moved.trials)}.")


@app.command("import")
def import_(
    path: Annotated[Path, typer.Argument(metavar="FILE.zip", help="A zip that `export` wrote.")],
    notebook: Where = None,
) -> None:
    """Read an exported zip into an empty notebook: everything, or, if anything is wrong with it, nothing."""
    from scribeline.tasks.notebook import import_notebook

    moved = import_notebook(path, where=notebook, tell=_tell)
    print(f"Imported {path}: {_count(moved.builds, moved.revisions, moved.files, moved.trials)}.")


@app.command()
def migrate(
    backup_is_made: Annotated[
        bool, typer.Option("--backup-is-made", help="My word that the PostgreSQL database was dumped.")
    ] = False,
    notebook: Where = None,
) -> None:
    """Bring an older notebook to this program's tables. A file is copied first; a server is yours to back up."""
    from scribeline.tasks.notebook import migrate_notebook

    address = migrate_notebook(where=notebook, backup_is_made=backup_is_made, tell=_tell)
    print(f"{address} has the tables of this program.")


def _count(builds: int, revisions: int, files: int, trials: int) -> str:
    words = [(builds, "build"), (revisions, "revision"), (files, "file"), *([(trials, "trial")] if trials else [])]
    return ", ".join(f"{count} {word}{'' if count == 1 else 's'}" for count, word in words)


def _print_files(files: "list[Attachment]") -> None:
    for file in files:
        of = f"revision {file.revision_number}" if file.revision_number else "the build"
        print(f"attached to {of}: {file.name} ({file.media_type}, {file.size_bytes} bytes, SHA-256 {file.sha256})")


def _print_table(rows: Sequence[tuple[str, ...]]) -> None:
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    for row in rows:
        print("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip())


def _time(moment: datetime) -> str:
    return f"{moment:%Y-%m-%d %H:%M} UTC"


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _shown(value: Any) -> str:
    """A value of a record as TOML writes it; nothing for a field that is not there."""
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_shown(inner)}" for key, inner in value.items()) + " }"
    if isinstance(value, list):
        return "[" + ", ".join(_shown(inner) for inner in value) + "]"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    return str(value)
