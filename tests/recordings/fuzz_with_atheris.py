"""Coverage-guided fuzzing of one reader, for as long as you like: not a test of `make test`, and not in the locks.

    .venv/bin/python -m pip install atheris                    # where it installs: Linux, Python 3.11 to 3.13
    .venv/bin/python -m tests.recordings.fuzz_with_atheris gpx --seconds 60

Starts from a valid file of the format. A reader may answer with a recording or a RecordingError; anything else, a hang
over five seconds or more than 2 GB ends the run and leaves the input behind, as a file named crash-, timeout- or oom-.
"""

import argparse
import sys
from contextlib import suppress
from importlib import import_module
from pathlib import Path
from tempfile import TemporaryDirectory

import atheris

with atheris.instrument_imports(include=["scribeline.recordings", "defusedxml", "fitdecode", "pynmea2"]):
    from scribeline.errors import RecordingError
    from scribeline.recordings import FORMATS, read

    for name in FORMATS:  # imported when first asked for, which would be too late to be followed
        import_module(f"scribeline.recordings.{name}")

from tests.recordings.test_robustness import KINDS, OPTIONS, valid


def main() -> None:
    """Fuzz the reader that is named."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n", 1)[0])
    parser.add_argument("format", choices=KINDS)
    parser.add_argument("--seconds", type=int, default=60)
    asked = parser.parse_args()
    with TemporaryDirectory() as folder:
        seeds = Path(folder) / "seeds"
        seeds.mkdir()
        (seeds / "valid").write_bytes(valid(asked.format))
        path = Path(folder) / "file"

        def once(data: bytes) -> None:
            path.write_bytes(data)
            with suppress(RecordingError):
                read(path, OPTIONS)

        limits = ["-timeout=5", "-rss_limit_mb=2000", "-max_len=6000", f"-max_total_time={asked.seconds}"]
        atheris.Setup([sys.argv[0], *limits, str(seeds)], once)
        atheris.Fuzz()


if __name__ == "__main__":
    main()
