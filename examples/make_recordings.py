"""Write the invented day of test runs of the demonstration kart into a folder: recordings of every kind, and the truth.

    .venv/bin/python examples/make_recordings.py recordings

INVENTED: nobody rode, and no such kart exists. The same files every time.
"""

import sys
from pathlib import Path

from scribeline.recordings.invented import invent_day

if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    invent_day(Path(sys.argv[1]), say=print)
