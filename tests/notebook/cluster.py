"""A PostgreSQL server of the tests' own: made in a temporary folder, on a socket there, thrown away at the end."""

import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest


class UnavailableError(Exception):
    """Why there can be no server on this machine."""


def programs() -> Path:
    """The folder of initdb and pg_ctl."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: float(path.parts[-3]))
    if not found and (on_path := shutil.which("initdb")):
        found = [Path(on_path).resolve()]
    if not found:
        raise UnavailableError("PostgreSQL is not installed (no initdb; on Debian: apt-get install postgresql)")
    return found[-1].parent


@contextmanager
def running_cluster() -> Iterator[str]:
    """A running server; gives the URL of a database on it."""
    folder = programs()
    home = Path(tempfile.mkdtemp(prefix="pg-"))
    # PostgreSQL refuses to run as root.
    other: dict[str, Any] = {}
    if os.geteuid() == 0:
        nobody = pwd.getpwnam("nobody")
        other = {"user": nobody.pw_uid, "group": nobody.pw_gid, "extra_groups": []}
        os.chown(home, nobody.pw_uid, nobody.pw_gid)

    def run(*command: str) -> None:
        # pg_ctl leaves the server behind with its own standard output: a pipe would never end.
        with (home / "log").open("ab") as log:
            done = subprocess.run(
                [str(folder / command[0]), *command[1:]], stdout=log, stderr=log, cwd=home, env={"LC_ALL": "C"}, **other
            )
        if done.returncode:
            raise RuntimeError(f"{command[0]} failed:\n{(home / 'log').read_text(errors='replace')}")

    data = home / "data"
    settings = f"-k {home} -c listen_addresses= -c fsync=off -c full_page_writes=off -c max_connections=30"
    try:
        run("initdb", "-D", str(data), "-U", "builder", "--auth=trust", "--no-sync", "--encoding=UTF8", "--locale=C")
        run("pg_ctl", "-D", str(data), "-w", "-o", settings, "start")
        try:
            yield f"postgresql://builder@/postgres?host={home}"
        finally:
            run("pg_ctl", "-D", str(data), "-w", "-m", "immediate", "stop")
    finally:
        shutil.rmtree(home, ignore_errors=True)


def skip_or_fail(error: UnavailableError) -> None:
    """No server is a reason to skip on somebody's own machine, and a fault where CI could have installed one."""
    if os.environ.get("CI") and os.geteuid() == 0:
        pytest.fail(f"{error}; in CI this is not skipped")
    pytest.skip(str(error))
