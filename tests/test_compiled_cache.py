"""Compiled code is kept by source: also where numba was imported before scribeline."""

import os
import subprocess
import sys


def test_the_cache_is_set_even_when_numba_came_first(tmp_path):
    environment = {k: v for k, v in os.environ.items() if k != "NUMBA_CACHE_DIR"} | {"XDG_CACHE_HOME": str(tmp_path)}
    code = "import numba, scribeline; print(numba.config.CACHE_DIR)"
    said = subprocess.run([sys.executable, "-c", code], env=environment, capture_output=True, text=True, check=True)
    assert said.stdout.startswith(str(tmp_path / "scribeline" / "kernels-"))
