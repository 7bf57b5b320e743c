"""Make .venv hold exactly what a lock names, and scribeline itself. The Makefile calls this; nothing else does.

    python3 -I scripts/install.py run     what `make demo` needs    (locks/run.txt)
    python3 -I scripts/install.py test    that and the checks' tools (locks/test.txt)

It uses the standard library only and Python 3.11 to 3.13 (the Makefile has looked). The reasons stand in
docs/decisions/installing.md. A receipt inside .venv, written last, says what is installed: with a fitting receipt
there is nothing to do, and a .venv without one was left half made and is thrown away.
"""

import ast
import fcntl
import hashlib
import json
import os
import platform
import shutil
import subprocess
import sys
import venv
from pathlib import Path
from typing import Any, NoReturn

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
VENV_PYTHON = VENV / "bin" / "python"
RECEIPT = VENV / "scribeline-receipt.json"

# pip settings of the user that say where packages come from are kept; those that say where they go or which
# to take (a target folder, --user, constraints, source builds) would spoil a locked install and are left out.
KEPT_PIP_SETTINGS = {
    "cache-dir", "cert", "client-cert", "default-timeout", "extra-index-url", "find-links", "index-url",
    "keyring-provider", "no-cache-dir", "no-index", "proxy", "retries", "timeout", "trusted-host",
}  # fmt: skip

# What pip prints when it fails, and the sentence that helps. The first that fits is used.
ADVICE = (
    (
        ("No space left on device", "Disk quota exceeded"),
        "The disk is full: about 3 GB is needed, here and in the folder for temporary files. Make room and run "
        "the same command again.",
    ),
    (
        ("DO NOT MATCH THE HASHES",),
        "A package arrived that is not the one that was locked, and it was not installed. Run the same command "
        "again; if it happens again, do not work around it but tell the maintainers.",
    ),
    (
        ("Retrying (", "name resolution", "ConnectionError", "Connection refused", "timed out", "SSLError"),
        "The packages could not be reached. Is this computer online? Connect it and run the same command again. "
        "Behind a proxy set https_proxy first; a mirror is chosen with pip's own settings.",
    ),
    (
        ("No matching distribution found",),
        f"There is no ready-made package for this computer ({platform.system()}, {platform.machine()}, Python "
        f"{platform.python_version()}), or the mirror that pip is set to lacks it. Another Python may have it: "
        "PYTHON=python3.11.",
    ),
)


def say(text: str) -> None:
    print(f"scribeline: {text}", flush=True)


def fail(text: str) -> NoReturn:
    say(text)
    sys.exit(1)


def sha256_of(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def wanted_receipt(level: str) -> dict[str, Any]:
    """The receipt of a finished install. A test install has both locks: locks/test.txt contains locks/run.txt."""
    levels = ("run", "test") if level == "test" else ("run",)
    return {
        "folder": str(ROOT),
        "python": ".".join(map(str, sys.version_info[:2])),
        "locks": {name: sha256_of(ROOT / "locks" / f"{name}.txt") for name in levels},
        "project": sha256_of(ROOT / "pyproject.toml"),
    }


def what_to_do(found: dict[str, Any] | None, wanted: dict[str, Any]) -> str:
    """Compare receipts: `nothing`, `package` (install scribeline again), `more` (add to it) or `everything`."""
    if found is None or any(found.get(key) != wanted[key] for key in ("folder", "python")):
        return "everything"
    locks: dict[str, str] = found.get("locks", {})
    if any(locks.get(name, digest) != digest for name, digest in wanted["locks"].items()):
        return "everything"
    if not wanted["locks"].keys() <= locks.keys():
        return "more"
    return "nothing" if found.get("project") == wanted["project"] else "package"


def found_receipt() -> dict[str, Any] | None:
    try:
        receipt = json.loads(RECEIPT.read_text())
    except (FileNotFoundError, NotADirectoryError, ValueError):
        return None
    return receipt if isinstance(receipt, dict) and VENV_PYTHON.exists() else None


def kept_settings(pip_config_list: str) -> dict[str, str]:
    """The settings to keep, as PIP_ variables, from what `pip config list` prints: files and environment both."""
    kept: dict[str, str] = {}
    lines = [line.partition("=") for line in pip_config_list.splitlines()]
    for section in ("global", "install", ":env:"):  # pip's own order: the later one wins
        for key, _, value in lines:
            where, _, name = key.partition(".")
            if where == section and name in KEPT_PIP_SETTINGS:
                kept["PIP_" + name.upper().replace("-", "_")] = str(ast.literal_eval(value))
    return kept


def new_venv() -> None:
    """Replace .venv by an empty one. It gets no pip of its own: Debian keeps what that takes in another package."""
    if VENV.is_symlink() or VENV.is_file():
        VENV.unlink()
    elif VENV.exists():
        say("removing the old .venv: it is unfinished, or made for another lock, Python or folder")
        RECEIPT.unlink(missing_ok=True)
        shutil.rmtree(VENV)
    say(f"making .venv, a Python {platform.python_version()} that only scribeline uses")
    venv.create(VENV, symlinks=True)


def base_python() -> str:
    """The interpreter itself, also when this runs in somebody's virtual environment (which may be .venv)."""
    return str(getattr(sys, "_base_executable", sys.executable))


def inherited_environment() -> dict[str, str]:
    """The user's environment without what redirects Python."""
    return {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}


def pip_command() -> list[str]:
    """A pip that installs into .venv: the one beside the chosen Python, else the one that Python can unpack."""

    def works(*command: str) -> bool:
        return subprocess.run(command, env=inherited_environment(), capture_output=True).returncode == 0

    beside = [base_python(), "-m", "pip", "--python", str(VENV_PYTHON)]
    if works(*beside, "--version"):
        return beside
    if works(str(VENV_PYTHON), "-m", "ensurepip"):
        return [str(VENV_PYTHON), "-m", "pip"]
    fail(
        f"{base_python()} has no pip, or one older than 22.3. Install it (on Debian: apt-get install python3-pip) "
        "and run the same command again."
    )


def pip_environment(pip: list[str]) -> dict[str, str]:
    """The environment for an install: of all pip settings, in files and variables, only those that are kept."""
    inherited = inherited_environment()
    listed = subprocess.run([*pip, "config", "list"], env=inherited, stdout=subprocess.PIPE, text=True)
    environment = {name: value for name, value in inherited.items() if not name.startswith("PIP_")}
    environment |= kept_settings(listed.stdout)
    return environment | {
        "PIP_CONFIG_FILE": os.devnull,
        "PIP_DISABLE_PIP_VERSION_CHECK": "1",
        "PIP_NO_INPUT": "1",
        "PIP_ROOT_USER_ACTION": "ignore",
    }


def run_pip(step: str, command: list[str], environment: dict[str, str]) -> None:
    """Run pip, name each package as it comes, and on failure say which step failed and what to do."""
    lines: list[str] = []
    with subprocess.Popen(
        command,
        cwd=ROOT,
        env=environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        errors="replace",
    ) as pip:
        assert pip.stdout is not None
        for line in pip.stdout:
            lines.append(line.rstrip())
            word, _, rest = line.strip().partition(" ")
            if word == "Collecting":
                print(f"    {rest.split(' ')[0].replace('==', ' ')}", flush=True)
            elif word == "Installing":
                print("    all are here; unpacking them", flush=True)
    if pip.returncode != 0:
        told = [line for line in lines if not line.startswith(("Collecting", "Ignoring", "Looking in", "  "))]
        print("\n".join(f"    {line}" for line in told[-6:]))
        text = "\n".join(lines)
        advice = (sentence for signs, sentence in ADVICE if any(sign in text for sign in signs))
        fail(f"{step} failed. {next(advice, 'The lines above are what pip said about it.')}")


def install(level: str) -> None:
    found, wanted = found_receipt(), wanted_receipt(level)
    to_do = what_to_do(found, wanted)
    if to_do == "nothing":
        say(".venv is ready, nothing to install")
        return
    if to_do == "everything":
        new_venv()
    RECEIPT.unlink(missing_ok=True)  # whatever stops this now, the next run sees an unfinished .venv
    pip = pip_command()
    environment = pip_environment(pip)
    if to_do != "package":
        lock = f"locks/{level}.txt"
        size = {"run": "about 250 MB", "test": "about 400 MB"}[level]
        say(f"fetching what {lock} names, {size}, and checking each package against it; this is done once")
        locked = ["--require-hashes", "--only-binary", ":all:", "--progress-bar", "off", "--requirement", lock]
        run_pip("Installing the packages", [*pip, "install", *locked], environment)
    say("installing scribeline itself, from this folder")
    here = ["--no-index", "--no-deps", "--no-build-isolation", "--quiet", "--editable", "."]
    run_pip("Installing scribeline itself", [*pip, "install", *here], environment)
    locks = (found or {}).get("locks", {}) if to_do == "package" else {}
    RECEIPT.write_text(json.dumps(wanted | {"locks": locks | wanted["locks"]}, indent=2) + "\n")
    say(".venv is ready")


def wait_for_others() -> None:
    """Hold this folder until the process ends, so that two makes do not install into one .venv at once."""
    folder = os.open(ROOT, os.O_RDONLY)
    try:
        fcntl.flock(folder, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        say("another make is installing here, waiting for it")
        fcntl.flock(folder, fcntl.LOCK_EX)
    except OSError:
        pass  # some network file systems lock nothing; then nobody waits


def main() -> None:
    try:
        wait_for_others()
        install(sys.argv[1])
    except OSError as error:
        fail(
            f"Installing failed: {error}. The folder {ROOT} and all in its .venv must belong to you: remove .venv "
            "and run the same command again, or clone into a folder of your own."
        )
    except KeyboardInterrupt:
        fail("Stopped. Run the same command again when you like: it begins this step anew.")


if __name__ == "__main__":
    main()
