"""The bootstrap and the locks, without installing anything."""

import ast
import importlib.util
import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).parents[1]
LOCKS = ("run.txt", "test.txt")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> ModuleType:
    """run.py as a module, whose .venv lies in an empty folder and which starts no program."""
    spec = importlib.util.spec_from_file_location("run", ROOT / "run.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    monkeypatch.setattr(module, "VENV", str(tmp_path / ".venv"))
    monkeypatch.setattr(module, "STAMPS", str(tmp_path / ".venv" / "stamps.txt"))
    return module


@pytest.fixture
def started(run: ModuleType, monkeypatch: pytest.MonkeyPatch) -> list[list[str]]:
    """The command lines run.py would have started, without their program."""
    lines: list[list[str]] = []

    def call(line: list[str], cwd: str) -> int:
        assert cwd == str(ROOT)
        assert Path(line[0]).is_relative_to(run.VENV)
        lines.append(line[1:])
        return 0

    def make_venv() -> int:
        lines.append(["make .venv"])
        Path(run.VENV).mkdir(exist_ok=True)
        return 0

    monkeypatch.setattr(run.subprocess, "call", call)
    monkeypatch.setattr(run, "make_venv", make_venv)
    return lines


def lock_of(name: str) -> dict[str, str]:
    """Each locked package, its name as the index spells it, with its lines."""
    text = (ROOT / "requirements" / name).read_text(encoding="utf-8")
    blocks = re.split(r"\n(?=\S)", text.strip())
    return {normal(re.split(r"[=\[;\s]", block)[0]) + marker_of(block): block for block in blocks}


def marker_of(block: str) -> str:
    _, semicolon, marker = block.splitlines()[0].rstrip("\\ ").partition(";")
    return semicolon + marker


def normal(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def names_in(lock: str) -> set[str]:
    return {name.partition(";")[0] for name in lock_of(lock)}


def wanted(requirements: list[str]) -> set[str]:
    return {normal(re.split(r"[<>=!~;\[\s]", line)[0]) for line in requirements}


@pytest.mark.parametrize("lock", LOCKS)
def test_a_lock_says_nothing_of_where_packages_are_fetched(lock: str) -> None:
    text = (ROOT / "requirements" / lock).read_text(encoding="utf-8")
    assert not re.search(r"https?:|file:|://|--index|--extra|--find|--trusted|@", text)
    assert all(
        re.match(r"[a-z0-9.-]+==\S+|    --hash=sha256:[0-9a-f]{64}", line)
        for line in text.splitlines()
    )


@pytest.mark.parametrize("lock", LOCKS)
def test_every_locked_package_has_one_version_and_a_hash(lock: str) -> None:
    for name, block in lock_of(lock).items():
        assert re.match(r"[a-z0-9.-]+==[0-9]\S*", block), name
        assert "--hash=sha256:" in block, name


def test_the_run_lock_holds_every_runtime_dependency_and_what_builds_the_package() -> None:
    needed = wanted(PROJECT["project"]["dependencies"]) | {"hatchling", "editables"}
    assert needed <= names_in("run.txt")


def test_the_run_lock_holds_no_test_tool_and_the_test_lock_holds_all() -> None:
    tools = wanted(PROJECT["dependency-groups"]["test"])
    assert not tools & names_in("run.txt")
    assert tools <= names_in("test.txt")


def test_the_test_lock_holds_the_run_lock_at_the_same_versions() -> None:
    run_lines = {block.splitlines()[0] for block in lock_of("run.txt").values()}
    test_lines = {block.splitlines()[0] for block in lock_of("test.txt").values()}
    assert run_lines <= test_lines


def test_the_locks_know_what_only_windows_needs() -> None:
    assert "colorama; sys_platform == 'win32'" in lock_of("run.txt")


def test_run_py_is_read_by_old_pythons() -> None:
    text = (ROOT / "run.py").read_text(encoding="ascii")
    tree = ast.parse(text, feature_version=(3, 7))
    # words that Python 2 stumbles over before it can say that it is too old
    assert not [n for n in ast.walk(tree) if isinstance(n, ast.JoinedStr | ast.AnnAssign)]
    for function in ast.walk(tree):
        if isinstance(function, ast.FunctionDef):
            arguments = function.args
            assert function.returns is None
            assert not any(a.annotation for a in arguments.args)
            assert not arguments.kwonlyargs
    assert not [n for n in ast.walk(tree) if isinstance(n, ast.Starred | ast.NamedExpr)]


def test_run_py_needs_the_standard_library_alone() -> None:
    tree = ast.parse((ROOT / "run.py").read_text(encoding="ascii"))
    names = {a.name for n in ast.walk(tree) if isinstance(n, ast.Import) for a in n.names}
    assert names <= sys.stdlib_module_names
    assert not [n for n in ast.walk(tree) if isinstance(n, ast.ImportFrom)]


@pytest.mark.parametrize("version", [(2, 7), (3, 6), (3, 10), (3, 14), (4, 0)])
def test_a_python_too_old_or_too_new_is_named_with_those_that_would_do(
    run: ModuleType, version: tuple[int, int]
) -> None:
    trouble = run.trouble_with_python(version)
    assert f"This is Python {version[0]}.{version[1]};" in trouble
    assert "3.11, 3.12 or 3.13" in trouble


@pytest.mark.parametrize("version", [(3, 11), (3, 12), (3, 13)])
def test_the_pythons_of_the_project_are_taken(run: ModuleType, version: tuple[int, int]) -> None:
    assert run.trouble_with_python(version) == ""
    low, high = PROJECT["project"]["requires-python"].split(",")
    lowest, above = (tuple(int(n) for n in t.lstrip("<>=").split(".")) for t in (low, high))
    assert lowest <= version < above


def test_an_old_python_does_nothing_at_all(
    run: ModuleType,
    started: list[list[str]],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr(run.sys, "version_info", (3, 10, 4))
    assert run.main(["demo"]) == 2
    assert started == []
    assert "This is Python 3.10" in capsys.readouterr().err


def test_the_demo_installs_the_run_lock_alone_with_hashes_and_wheels_only(
    run: ModuleType, started: list[list[str]]
) -> None:
    assert run.main(["demo"]) == 0
    made, packages, package, demo = started
    assert made == ["make .venv"]
    assert packages[-5:] == [
        "--require-hashes",
        "--only-binary",
        ":all:",
        "-r",
        str(ROOT / "requirements" / "run.txt"),
    ]
    assert package[-4:] == ["--no-deps", "--no-build-isolation", "-e", "."]
    assert demo == ["-m", "hidewright", "demo"]


def test_a_second_start_installs_nothing_and_tests_after_a_demo_only_add_their_tools(
    run: ModuleType, started: list[list[str]]
) -> None:
    run.main(["demo"])
    started.clear()
    run.main(["demo"])
    assert started == [["-m", "hidewright", "demo"]]
    started.clear()
    run.main(["test", "-k", "units"])
    assert ["make .venv"] not in started
    assert started[0][-1].endswith("test.txt")
    assert started[-1] == [
        "-m",
        "pytest",
        "-n",
        "auto",
        "--dist",
        "worksteal",
        "-m",
        "not slow and not browser and not sweep",
        "-k",
        "units",
    ]
    started.clear()
    run.main(["demo"])
    assert started == [["-m", "hidewright", "demo"]]


def test_all_tests_are_run_when_asked_for(run: ModuleType) -> None:
    assert run.pytest_arguments(["--all", "-n", "0"]) == ["-m", "not sweep", "-n", "0"]
    assert run.pytest_arguments(["--sweeps", "-x", "-n", "0"]) == ["-x", "-n", "0"]


def test_a_changed_lock_another_python_or_a_moved_folder_makes_the_venv_anew(
    run: ModuleType, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    lock = tmp_path / "lock.txt"
    lock.write_bytes(b"numpy==1\n")
    stamp = run.stamp_of(str(lock))
    lock.write_bytes(b"numpy==1\r\n")
    assert run.stamp_of(str(lock)) == stamp  # line ends alone change nothing
    lock.write_bytes(b"numpy==2\n")
    other_lock = run.stamp_of(str(lock))
    monkeypatch.setattr(run, "VENV", str(tmp_path / "elsewhere"))
    moved = run.stamp_of(str(lock))
    monkeypatch.setattr(run.sys, "version_info", (3, 12, 99))
    assert len({stamp, other_lock, moved, run.stamp_of(str(lock))}) == 4


def test_the_venv_is_not_made_anew_by_the_python_that_lives_in_it(
    run: ModuleType,
    started: list[list[str]],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr(run.sys, "prefix", run.VENV)
    assert run.main(["demo"]) == 2
    assert started == []
    assert "Start run.py with the Python of the machine" in capsys.readouterr().err


def test_a_failed_installation_says_so_and_is_tried_again(
    run: ModuleType,
    started: list[list[str]],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    whole = run.subprocess.call
    monkeypatch.setattr(run.subprocess, "call", lambda line, cwd: 1)
    assert run.main(["demo"]) == 2
    assert "could not be installed" in capsys.readouterr().err
    monkeypatch.setattr(run.subprocess, "call", whole)
    started.clear()
    assert run.main(["demo"]) == 0
    assert started[0] == ["make .venv"]


def test_a_python_without_ensurepip_is_told_what_to_install(
    run: ModuleType, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setitem(sys.modules, "ensurepip", None)
    assert run.make_venv() == 2
    assert "apt install python3-venv" in capsys.readouterr().err
    assert not Path(run.VENV).exists()


def test_an_unknown_command_is_refused_with_those_there_are(
    run: ModuleType, started: list[list[str]], capsys: pytest.CaptureFixture[str]
) -> None:
    assert run.main(["dmeo"]) == 2
    assert "There are: demo, app, test" in capsys.readouterr().err
    assert run.main([]) == 2
    assert run.main(["--help"]) == 0
    assert started == []


def test_run_py_finds_the_python_inside_venv_on_each_system(
    run: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(run.os, "name", "posix")
    assert Path(run.venv_python()) == Path(run.VENV) / "bin" / "python"
    monkeypatch.setattr(run.os, "name", "nt")
    assert os.path.join(run.VENV, "Scripts", "python.exe") == run.venv_python()  # noqa: PTH118


@pytest.mark.skipif(os.name == "nt", reason="bash and file modes are not for Windows")
def test_the_check_script_is_well_formed_and_ends_with_the_tests() -> None:
    script = ROOT / ".ci" / "run"
    text = script.read_text(encoding="ascii")
    assert os.access(script, os.X_OK)
    assert "set -euo pipefail" in text
    *_, tests, types, last = text.strip().splitlines()
    assert tests == '"$python" run.py test --all || status=$?'
    assert types == 'wait "$mypy" || { cat "$types"; exit 1; }'  # says nothing where all is well
    assert last == 'exit "$status"'
    assert subprocess.run(["bash", "-n", str(script)], check=False).returncode == 0
