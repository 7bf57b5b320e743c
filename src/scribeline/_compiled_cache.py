"""Where compiled kernels are kept between runs.

numba's own cache looks only at the file a function stands in: after an edit to a helper in another file the
caller would still return the old numbers. So the cache folder is named by a hash of every source in the rooms
that hold compiled functions, and a change there starts a new folder. With no writable home the cache goes to the
temporary folder.
"""

import hashlib
import os
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

COMPILED_ROOMS = ("kernels", "models", "cycle")


def use_cache_of_this_source() -> None:
    """Point numba at a cache folder that belongs to exactly this kernel source, unless the user chose one."""
    if "NUMBA_CACHE_DIR" in os.environ:
        return
    name = f"kernels-{digest_of(COMPILED_ROOMS)}"
    home = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")
    for root in (home, Path(tempfile.gettempdir())):
        folder = root / "scribeline" / name
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError:
            continue
        if os.access(folder, os.W_OK):
            os.environ["NUMBA_CACHE_DIR"] = str(folder)
            if "numba" in sys.modules:  # it has read the variable already
                sys.modules["numba"].config.CACHE_DIR = str(folder)
            return


def digest_of(rooms: Sequence[str]) -> str:
    """A short hash of every source in these rooms: what was computed with others is not to be mixed with it."""
    digest = hashlib.sha256()
    here = Path(__file__).parent
    for source in sorted(file for room in rooms for file in (here / room).rglob("*.py")):
        digest.update(source.relative_to(here).as_posix().encode())
        digest.update(source.read_bytes())
    return digest.hexdigest()[:16]
