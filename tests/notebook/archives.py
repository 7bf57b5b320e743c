"""Archives to test with: taken apart, changed, and put together again."""

import json
import zipfile
from pathlib import Path
from typing import Any

from scribeline.notebook import FileToAttach, Notebook
from scribeline.notebook.archive import INDEX

PHOTO = FileToAttach("a.jpg", "image/jpeg", b"\xff\xd8 a picture")


def fill(notebook: Notebook) -> None:
    """Two builds with some history and files."""
    notebook.keep("kart", 'name = "kart"\r\n# to the letter\n', author="Kim", build_note="spare", files=[PHOTO])
    notebook.keep("kart", 'name = "kart"\na_mm = 2.5\n', author="Ada", note="roof\nraised")
    notebook.keep("Küchenmoped", "a_mm = 50.0", author="Kim", files=[PHOTO, FileToAttach("e", "x/y", b"")])
    notebook.attach("kart", [FileToAttach("scan ü.pdf", "application/pdf", b"%PDF" * 999)])


def entries_of(path: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(path) as packed:
        return {name: packed.read(name) for name in packed.namelist()}


def pack(path: Path, entries: dict[str, bytes] | list[tuple[str, bytes]], method: int = zipfile.ZIP_STORED) -> Path:
    with zipfile.ZipFile(path, "w", method) as packed:
        for name, data in entries.items() if isinstance(entries, dict) else entries:
            packed.writestr(name, data)
    return path


def index_of(entries: dict[str, bytes]) -> Any:
    return json.loads(entries[INDEX])


def with_index(entries: dict[str, bytes], index: Any) -> dict[str, bytes]:
    return entries | {INDEX: json.dumps(index).encode()}
