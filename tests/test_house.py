"""Promises about the repository itself: its rooms, locks, links, words that may not stand in it, and the two commands.

Each promise is a small function from text (or a folder) to the list of what breaks it, so that the test beside it
can show it something broken. Import directions between rooms are import-linter's, not repeated here.
"""

import ast
import importlib.util
import json
import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path
from types import ModuleType

import pytest
from packaging.requirements import Requirement
from packaging.specifiers import SpecifierSet
from packaging.utils import canonicalize_name

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "src" / "scribeline"
ROOMS = [
    "cli", "web", "tasks", "notebook", "learning", "plan", "marking", "rubbing", "trials", "cycle", "recordings",
    "models", "geometry", "engine", "kernels", "data",
]  # fmt: skip
OPEN_MODULES = ("errors", "units", "sources")
LOCKS = {name: (ROOT / "locks" / f"{name}.txt").read_text() for name in ("run", "test")}
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text())
MAKEFILE = (ROOT / "Makefile").read_text()


def files_of_the_repository() -> list[Path]:
    """Every file git knows or would add. safe.directory lets root test a clone that belongs to somebody else."""
    command = ["git", "-c", "safe.directory=*", "ls-files", "-z", "--cached", "--others", "--exclude-standard"]
    listed = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True).stdout
    files = [ROOT / name for name in listed.split("\0") if name]
    return sorted(path for path in files if path.is_file())


FILES = files_of_the_repository()


def names(paths: list[Path]) -> list[str]:
    return [path.relative_to(ROOT).as_posix() for path in paths]


# --- the rooms ---------------------------------------------------------------------------------------------------


def imported_roots(source: str) -> set[str]:
    """The top-level packages that a module imports, wherever in it the import stands."""
    roots: set[str] = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            roots |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            roots.add("." * node.level + (node.module or ""))
    return {
        "scribeline.kernels" if f"{name}.".startswith("scribeline.kernels.") else name.partition(".")[0] or name
        for name in roots
    }


@pytest.mark.parametrize("path", sorted((PACKAGE / "kernels").rglob("*.py")), ids=lambda path: path.name)
def test_kernels_import_only_numpy_numba_and_math(path: Path) -> None:
    allowed = {"functools"} if path.name == "compiling.py" else set()  # says how, and computes nothing
    assert imported_roots(path.read_text()) <= {"numpy", "numba", "math", "scribeline.kernels"} | allowed


def test_an_import_is_found_wherever_it_stands() -> None:
    source = "import numpy.linalg as la\ndef f():\n    from scribeline.errors import X\nfrom . import crank\n"
    assert imported_roots(source) == {"numpy", "scribeline", "."}
    assert imported_roots("from scribeline.kernels.crank import f") == {"scribeline.kernels"}


def imported_when_run(source: str) -> set[str]:
    """The rooms and open modules of scribeline that a module imports when it runs, not only for its types."""
    found: set[str] = set()
    left = list(ast.parse(source).body)
    while left:
        node = left.pop()
        if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
            continue
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module == "scribeline":
            found |= {f"scribeline.{alias.name}" for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            found.add(node.module or "")
        left += ast.iter_child_nodes(node)
    return {name.split(".")[1] for name in found if name.startswith("scribeline.")}


@pytest.mark.parametrize("room", ["cli", "web"])
def test_commands_and_pages_call_tasks_and_nothing_deeper(room: str) -> None:
    allowed = {"tasks", "errors", "units", room, "__version__"} | ({"web"} if room == "cli" else set())
    deeper = {
        path.name: imported_when_run(path.read_text()) - allowed for path in sorted((PACKAGE / room).rglob("*.py"))
    }
    assert {name: rooms for name, rooms in deeper.items() if rooms} == {}


def test_an_import_for_types_only_is_told_from_one_that_runs() -> None:
    source = (
        "if TYPE_CHECKING:\n    from scribeline.plan import A\ndef f():\n    from scribeline.marking.svg import B\n"
    )
    assert imported_when_run(source) == {"marking"}


@pytest.mark.parametrize("room", ROOMS)
def test_every_room_stands_and_says_what_it_is(room: str) -> None:
    assert ast.get_docstring(ast.parse((PACKAGE / room / "__init__.py").read_text()))


def test_no_room_stands_that_the_plan_of_the_house_lacks() -> None:
    folders = {path.parent.name for path in PACKAGE.glob("*/__init__.py")}
    assert folders == set(ROOMS)


@pytest.mark.parametrize("module", OPEN_MODULES)
def test_the_open_modules_stand(module: str) -> None:
    assert ast.get_docstring(ast.parse((PACKAGE / f"{module}.py").read_text()))


def test_no_source_file_is_longer_than_one_can_hold() -> None:
    lengths = {path: len(path.read_text().splitlines()) for path in FILES if path.suffix == ".py"}
    assert names([path for path, length in lengths.items() if length > 600]) == []


# --- words that may not stand in a file -----------------------------------------------------------------------------

# Put together from pieces, or this file would name them. An example may stand in the home of somebody called "me".
HOSTS = [
    "pypi" + ".org", "python" + "hosted", "registry." + "npmjs", "deb." + "debian", "security." + "debian",
    "snapshot." + "debian", "anaconda" + ".org", "conda." + "anaconda", "ghcr" + ".io", "docker" + ".io",
]  # fmt: skip
FOLDERS = ["wo" + "rk", "fa" + "rm", "ro" + "ot", "ho" + "me", "Us" + "ers", "tm" + "p", "o" + "pt"]
FORBIDDEN = re.compile(
    "|".join(re.escape(host) for host in HOSTS) + r"|(?<![\w.~)}-])/(?:" + "|".join(FOLDERS) + r")/(?!me\b)[\w.]"
)


@pytest.mark.parametrize(
    "text",
    [
        "https://" + HOSTS[0] + "/simple",
        "cd /" + FOLDERS[0] + "/main",
        "'/" + FOLDERS[3] + "/kim/card.html'",
        "file:///" + FOLDERS[0] + "/x",
    ],
)
def test_a_registry_host_or_a_developers_path_is_seen(text: str) -> None:
    assert FORBIDDEN.search(text)


@pytest.mark.parametrize(
    "text", ["docs/" + FOLDERS[0] + "/card.md", "and/or", "src/" + FOLDERS[3] + "/x", "m/s", "/home/me/x"]
)
def test_a_relative_path_is_not_mistaken_for_one(text: str) -> None:
    assert not FORBIDDEN.search(text)


def test_no_file_names_a_package_registry_or_a_developers_path() -> None:
    found = []
    for path in FILES:
        for number, line in enumerate(path.read_bytes().decode(errors="ignore").splitlines(), 1):
            if match := FORBIDDEN.search(line):
                found.append(f"{path.relative_to(ROOT)}:{number}: {match[0]}")
    assert found == []


# --- the locks ---------------------------------------------------------------------------------------------------

REQUIREMENT_LINE = re.compile(r"[a-z0-9]+(?:[-.][a-z0-9]+)*==[0-9][\w.!+]*( ; [\w .<>=!'()-]+)? \\")
HASH_LINE = re.compile(r"    --hash=sha256:[0-9a-f]{64}(?: \\)?")


def broken_lock_lines(lock: str) -> list[str]:
    """Lines that are neither a pinned requirement going on to its hashes nor a hash: hosts and comments among them."""
    lines = lock.splitlines()
    broken = [line for line in lines if not (REQUIREMENT_LINE.fullmatch(line) or HASH_LINE.fullmatch(line))]
    for line, following in zip(lines, [*lines[1:], ""], strict=True):
        if line.endswith("\\") != following.startswith("    --hash="):
            broken.append(line)
    return broken


def pins(lock: str) -> dict[str, list[Requirement]]:
    found: dict[str, list[Requirement]] = {}
    for line in lock.splitlines():
        if REQUIREMENT_LINE.fullmatch(line):
            requirement = Requirement(line.removesuffix("\\"))
            found.setdefault(canonicalize_name(requirement.name), []).append(requirement)
    return found


@pytest.mark.parametrize("name", LOCKS)
def test_a_lock_is_pins_with_hashes_and_nothing_else(name: str) -> None:
    assert len(pins(LOCKS[name])) >= len(PROJECT["project"]["dependencies"])
    assert broken_lock_lines(LOCKS[name]) == []


@pytest.mark.parametrize(
    "lock",
    [
        "numpy==2.0.0\n",
        "numpy>=2.0.0 \\\n    --hash=sha256:" + "0" * 64,
        "numpy==2.0.0 \\\n    --hash=md5:" + "0" * 32,
        "--index-url https://somewhere.example/simple\n",
        "numpy @ https://somewhere.example/numpy.whl \\\n    --hash=sha256:" + "0" * 64,
        "# made on somewhere.example\n",
    ],
)
def test_a_lock_line_without_hash_or_with_a_host_is_seen(lock: str) -> None:
    assert broken_lock_lines(lock)


def test_the_run_lock_is_part_of_the_test_lock() -> None:
    run, test = pins(LOCKS["run"]), pins(LOCKS["test"])
    assert {name: list(map(str, found)) for name, found in run.items()} == {
        name: list(map(str, test.get(name, []))) for name in run
    }


def asked_for(lock: str) -> list[Requirement]:
    """What pyproject.toml asks for and `lock` must therefore hold."""
    groups = PROJECT["dependency-groups"]
    texts = [*PROJECT["project"]["dependencies"], *PROJECT["build-system"]["requires"], *groups["build"]]
    return [Requirement(text) for text in (texts + groups["test"] if lock == "test" else texts)]


@pytest.mark.parametrize("name", LOCKS)
def test_a_lock_holds_all_that_pyproject_asks_for(name: str) -> None:
    """A dependency that was added or raised without `make lock` is seen here."""
    locked = pins(LOCKS[name])
    missing = [
        str(wanted)
        for wanted in asked_for(name)
        if not any(
            next(iter(pin.specifier)).version in wanted.specifier
            for pin in locked.get(canonicalize_name(wanted.name), [])
        )
    ]
    assert missing == []


# --- the two commands ----------------------------------------------------------------------------------------------


def targets(makefile: str) -> set[str]:
    return set(re.findall(r"^([\w-]+):(?!=)", makefile, re.MULTILINE))


def commands(page: str) -> set[str]:
    """The `make` targets that a page of Markdown tells its reader to type, in code spans and code blocks."""
    code = re.findall(r"`([^`\n]+)`|^```.*\n((?:.*\n)*?)```", page, re.MULTILINE)
    lines = "\n".join(span + block for span, block in code)
    return set(re.findall(r"^\s*(?:PYTHON=\S+ )?make ([a-z][\w-]*)", lines, re.MULTILINE))


def test_make_commands_are_found() -> None:
    page = "Type `make demo`, or\n\n```sh\nPYTHON=python3.12 make test  # all\nmake lock\n```\nmake sure of `it`.\n"
    assert commands(page) == {"demo", "test", "lock"}


def test_the_readme_names_the_two_commands() -> None:
    assert {"demo", "test"} <= commands((ROOT / "README.md").read_text())


def test_every_make_command_in_the_pages_exists() -> None:
    pages = [path for path in FILES if path.suffix == ".md"]
    told = {path: commands(path.read_text()) - targets(MAKEFILE) for path in pages}
    assert {path.relative_to(ROOT): missing for path, missing in told.items() if missing} == {}


def test_ci_runs_the_tests() -> None:
    script = ROOT / ".ci" / "run"
    assert os.access(script, os.X_OK)
    assert "\nmake test\n" in script.read_text()
    tools = re.findall(r"\.venv/bin/([^>\n]+?)(?: >|\n)", make("--dry-run", "test").stdout)
    tools.remove("python scripts/compile_numerics.py")  # beside these four
    assert tools[:4] == ["ruff check .", "ruff format --check .", "mypy", "lint-imports"]
    assert sorted(tools[4:]) == ["pytest --ignore=tests/web", "pytest tests/web"]  # together, all of them


def make(*arguments: str) -> subprocess.CompletedProcess[str]:
    environment = {name: value for name, value in os.environ.items() if not name.startswith(("MAKE", "MFLAGS"))}
    return subprocess.run(["make", *arguments], cwd=ROOT, env=environment, capture_output=True, text=True)


@pytest.mark.parametrize(("version", "accepted"), [("3.10", False), ("3.11", True), ("3.13", True), ("3.14", False)])
def test_make_takes_the_pythons_that_pyproject_accepts(tmp_path: Path, version: str, accepted: bool) -> None:
    """A stand-in for an interpreter of that version runs what the Makefile asks it with the version changed."""
    assert (f"{version}.0" in SpecifierSet(PROJECT["project"]["requires-python"])) is accepted
    stand_in = tmp_path / "python of another age"
    pretend = f"import sys; sys.version_info = ({version.replace('.', ', ')}, 0); exec(sys.argv[1])"
    stand_in.write_text(f'#!/bin/sh\nexec "{sys.executable}" -c "{pretend}" "$3"\n')
    stand_in.chmod(0o755)
    done = make("fitting-python", f"PYTHON={stand_in}")
    assert (done.returncode == 0) is accepted
    assert ("needs Python 3.11, 3.12 or 3.13" in done.stdout) is not accepted


def test_make_refuses_a_python_that_is_not_there() -> None:
    done = make("fitting-python", "PYTHON=python3.99")
    assert done.returncode != 0
    assert '"python3.99" is none of these' in done.stdout


# --- scripts/install.py, which both commands begin with -------------------------------------------------------------


def load_install() -> ModuleType:
    spec = importlib.util.spec_from_file_location("install", ROOT / "scripts" / "install.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


INSTALL = load_install()
RUN = {"folder": "/here", "python": "3.11", "locks": {"run": "aa"}, "project": "pp"}
TEST = RUN | {"locks": {"run": "aa", "test": "bb"}}


@pytest.mark.parametrize(
    ("found", "wanted", "to_do"),
    [
        (None, RUN, "everything"),
        (RUN, RUN, "nothing"),
        (TEST, RUN, "nothing"),
        (RUN, TEST, "more"),
        (TEST, TEST | {"project": "changed"}, "package"),
        (TEST, RUN | {"project": "changed"}, "package"),
        (RUN | {"folder": "/moved"}, RUN, "everything"),
        (RUN | {"python": "3.12"}, RUN, "everything"),
        (RUN | {"locks": {"run": "old"}}, RUN, "everything"),
        (TEST | {"locks": {"run": "aa", "test": "old"}}, TEST, "everything"),
        ({}, RUN, "everything"),
    ],
)
def test_what_an_install_has_to_do(found: dict[str, object] | None, wanted: dict[str, object], to_do: str) -> None:
    assert INSTALL.what_to_do(found, wanted) == to_do


def test_the_receipt_changes_with_each_lock() -> None:
    assert INSTALL.wanted_receipt("run")["folder"] == str(ROOT)
    assert INSTALL.wanted_receipt("run")["locks"].keys() == {"run"}
    digests = INSTALL.wanted_receipt("test")["locks"]
    assert digests.keys() == {"run", "test"}
    assert digests["run"] != digests["test"]


def test_only_pip_settings_about_where_packages_come_from_are_kept() -> None:
    listed = "\n".join(
        [
            ":env:.find-links='/wheels'",
            "global.index-url='https://mirror.example/simple'",
            "install.index-url='https://nearer.example/simple'",
            "install.user='true'",
            "global.target='/elsewhere'",
            "global.find-links='/other wheels'",
            ":env:.no-binary=':all:'",
            "global.extra-index-url='https://one.example\\nhttps://two.example'",
        ]
    )
    assert INSTALL.kept_settings(listed) == {
        "PIP_INDEX_URL": "https://nearer.example/simple",
        "PIP_FIND_LINKS": "/wheels",
        "PIP_EXTRA_INDEX_URL": "https://one.example\nhttps://two.example",
    }


@pytest.fixture
def clone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A stand-in for a clone, to which install.py is pointed."""
    venv = tmp_path / ".venv"
    monkeypatch.setattr(INSTALL, "ROOT", tmp_path)
    monkeypatch.setattr(INSTALL, "VENV", venv)
    monkeypatch.setattr(INSTALL, "VENV_PYTHON", venv / "bin" / "python")
    monkeypatch.setattr(INSTALL, "RECEIPT", venv / "receipt.json")
    return tmp_path


def test_an_unfinished_venv_is_replaced(clone: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (clone / ".venv" / "lib").mkdir(parents=True)
    left_over = clone / ".venv" / "lib" / "half-a-package.py"
    left_over.write_text("")
    assert INSTALL.found_receipt() is None
    INSTALL.new_venv()
    assert not left_over.exists()
    assert (clone / ".venv" / "bin" / "python").exists()
    assert "removing the old .venv" in capsys.readouterr().out


def test_a_venv_that_is_a_link_is_replaced_and_what_it_points_to_is_left_alone(clone: Path) -> None:
    elsewhere = clone / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "mine.txt").write_text("keep")
    (clone / ".venv").symlink_to(elsewhere)
    INSTALL.new_venv()
    assert not (clone / ".venv").is_symlink()
    assert (elsewhere / "mine.txt").read_text() == "keep"


@pytest.mark.parametrize("text", ["", "{", "[]", None])
def test_a_receipt_that_cannot_be_read_counts_as_none(clone: Path, text: str | None) -> None:
    INSTALL.new_venv()
    if text is not None:
        INSTALL.RECEIPT.write_text(text)
    assert INSTALL.found_receipt() is None


def test_a_receipt_without_its_interpreter_counts_as_none(clone: Path) -> None:
    INSTALL.new_venv()
    INSTALL.RECEIPT.write_text(json.dumps(RUN))
    assert INSTALL.found_receipt() == RUN
    INSTALL.VENV_PYTHON.unlink()
    assert INSTALL.found_receipt() is None


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        ("WARNING: Retrying (Retry(total=4)) after connection broken", "Is this computer online?"),
        ("ERROR: THESE PACKAGES DO NOT MATCH THE HASHES", "not the one that was locked"),
        ("OSError: [Errno 28] No space left on device", "The disk is full"),
        ("ERROR: No matching distribution found for numba", "no ready-made package"),
        ("something new", "what pip said"),
    ],
)
def test_a_failed_step_says_which_and_what_to_do(
    clone: Path, capsys: pytest.CaptureFixture[str], said: str, sentence: str
) -> None:
    command = ["sh", "-c", f"echo 'Collecting numba==1.0 (from x)'; echo '{said}' >&2; exit 1"]
    with pytest.raises(SystemExit) as stopped:
        INSTALL.run_pip("Installing the packages", command, dict(os.environ))
    assert stopped.value.code == 1
    printed = capsys.readouterr().out
    assert "    numba 1.0\n" in printed
    assert said in printed
    assert "Installing the packages failed." in printed
    assert sentence in printed


# --- pages and fragments ---------------------------------------------------------------------------------------------


def local_links(page: str) -> list[str]:
    """Targets of links and pictures in a page of Markdown that point into the repository; code is not read."""
    prose = re.sub(r"`[^`\n]*`", "", re.sub(r"^(```|~~~).*?^\1", "", page, flags=re.MULTILINE | re.DOTALL))
    found = re.findall(r"\]\(\s*<?([^)>\s]+)", prose) + re.findall(r"^\[[^\]]+\]:\s*(\S+)", prose, re.MULTILINE)
    return [link.partition("#")[0] for link in found if not re.match(r"[a-z]+:|#", link)]


def test_links_are_found() -> None:
    page = "[a](one.md#part) ![b](two.svg 'title') `[c](code.md)`\n```\n[d](block.md)\n```\n[e]: three.md\n"
    page += "[f](#here) [g](https://example.org)"
    assert local_links(page) == ["one.md", "two.svg", "three.md"]


def test_every_link_in_the_pages_leads_to_a_file_of_the_repository() -> None:
    known = {path.resolve() for path in FILES}
    known |= {parent for path in known for parent in path.parents}
    pages = [path for path in FILES if path.suffix == ".md"]
    assert [path for path in pages if path.is_relative_to(ROOT / "docs")]
    dead = {
        f"{page.relative_to(ROOT)} -> {link}"
        for page in pages
        for link in local_links(page.read_text())
        if (page.parent / link).resolve() not in known
    }
    assert dead == set()


def test_a_change_says_what_it_changes_for_users() -> None:
    fragments = [path for path in (ROOT / "changelog.d").glob("*.md") if path.name != "README.md"]
    assert fragments or (ROOT / "CHANGELOG.md").exists()
    assert names([path for path in fragments if len(path.read_text().split()) < 5]) == []
