#!/usr/bin/env python3
"""Set everything up and do one thing; needs nothing but Python 3.11, 3.12 or 3.13.

    python3 run.py demo         make the demonstration packs and say where they are
    python3 run.py app          open the app in the browser
    python3 run.py test         run the test suite; what follows goes to pytest
    python3 run.py test --all   the same with the slow and the browser tests
    python3 run.py test --sweeps   all of that, and every sweep at its full length

Everything is installed into the folder .venv beside this file, by the locked versions and hashes in
requirements/. Tried on Linux; written for Windows and macOS too, but untested there.

This file is kept to words that any Python reads, so that an old one can say that it is too old.
"""

# old Pythons must be able to read this file
# ruff: noqa: PTH100, PTH118, PTH120, PTH123, RUF005, UP024, UP031

import hashlib
import os
import subprocess
import sys

OLDEST, NEWEST = (3, 11), (3, 13)
HERE = os.path.dirname(os.path.abspath(__file__))
VENV = os.path.join(HERE, ".venv")
STAMPS = os.path.join(VENV, "stamps.txt")
RUN_LOCK = os.path.join(HERE, "requirements", "run.txt")
USAGE = __doc__ or ""


def main(arguments):
    # type: (list[str]) -> int
    """Do what was asked and return the exit code."""
    trouble = trouble_with_python(sys.version_info[:2])
    if trouble:
        return fail(trouble)
    if not arguments or arguments[0] in ("-h", "--help"):
        print(USAGE)
        return 0 if arguments else 2
    command, rest = arguments[0], arguments[1:]
    if command == "demo":
        return set_up("run") or run_in_venv(["-m", "hidewright", "demo"] + rest)
    if command == "app":
        return set_up("run") or run_in_venv(["-m", "hidewright", "app"] + rest)
    if command == "test":
        return set_up("test") or run_in_venv(["-m", "pytest"] + pytest_arguments(rest))
    return fail("There is no command %r. There are: demo, app, test." % command)


def trouble_with_python(version):
    # type: (tuple[int, ...]) -> str
    """Return what is wrong with a (major, minor) version of Python; empty if nothing is."""
    if OLDEST <= tuple(version) <= NEWEST:
        return ""
    return (
        "This is Python %d.%d; hidewright needs Python 3.11, 3.12 or 3.13.\n"
        "Install one of them beside it and start run.py with it, such as:\n"
        "  python3.13 run.py demo        (Linux, macOS)\n"
        "  py -3.13 run.py demo          (Windows)"
    ) % tuple(version)


def pytest_arguments(rest):
    # type: (list[str]) -> list[str]
    """Return the arguments for pytest: all cores, and no long tests that were not asked for."""
    if "--sweeps" in rest:
        chosen = []
    elif "--all" in rest:
        chosen = ["-m", "not sweep"]
    else:
        chosen = ["-m", "not slow and not browser and not sweep"]
    # neighbours share what was made for them, so each core begins with a stretch of its own
    cores = [] if "-n" in rest else ["-n", "auto", "--dist", "worksteal"]
    return cores + chosen + [one for one in rest if one not in ("--all", "--sweeps")]


def set_up(lock):
    # type: (str) -> int
    """Install what a lock lists, unless it is installed already; return an exit code."""
    lock_file = os.path.join(HERE, "requirements", lock + ".txt")
    stamp, run_stamp = stamp_of(lock_file), stamp_of(RUN_LOCK)
    if stamp in stamps():
        return 0
    if run_stamp not in stamps():
        if runs_from(VENV):
            return fail(
                "This Python is the one inside .venv, and .venv must be made anew.\n"
                "Start run.py with the Python of the machine: %s"
                % getattr(sys, "_base_executable", "python3")
            )
        print("Setting up in %s; the first time this takes a minute or two." % VENV)
        sys.stdout.flush()
        code = make_venv()
        if code:
            return code
    pip = [venv_python(), "-m", "pip", "--disable-pip-version-check", "--no-input", "install", "-q"]
    code = subprocess.call(
        pip + ["--require-hashes", "--only-binary", ":all:", "-r", lock_file], cwd=HERE
    )
    if code:
        return fail(
            "The packages could not be installed; the lines above say why.\n"
            "Without a connection nothing can be fetched; run the same command again later.\n"
            "'no matching distribution' means: no ready-made package for this machine's system."
        )
    code = subprocess.call(pip + ["--no-deps", "--no-build-isolation", "-e", "."], cwd=HERE)
    if code:
        return fail("hidewright itself could not be installed; the lines above say why.")
    with open(STAMPS, "w") as file:
        # the test lock holds everything of the run lock
        file.write(run_stamp + "\n" + stamp + "\n")
    return 0


def make_venv():
    # type: () -> int
    """Make .venv anew, without what was in it; return an exit code."""
    try:
        import ensurepip  # noqa: F401  Debian keeps it in a package of its own
        import venv
    except ImportError:
        return fail(
            "This Python lacks the parts that make a virtual environment (venv, ensurepip).\n"
            "On Debian and Ubuntu:  sudo apt install python3-venv\n"
            "Elsewhere install Python from its own installer."
        )
    try:
        venv.EnvBuilder(clear=True, with_pip=True, symlinks=os.name != "nt").create(VENV)
    except (OSError, subprocess.CalledProcessError) as error:
        return fail(
            "The folder %s could not be made: %s\n"
            "On Debian and Ubuntu:  sudo apt install python3-venv\n"
            "On Windows close every program that uses it, then try again." % (VENV, error)
        )
    return 0


def stamps():
    # type: () -> list[str]
    """Return what .venv was set up for; nothing if it is not there or half made."""
    try:
        with open(STAMPS) as file:
            return file.read().split()
    except (IOError, OSError):
        return []


def stamp_of(lock_file):
    # type: (str) -> str
    """Return a digest of all that makes an old .venv useless: lock, package, Python and place."""
    digest = hashlib.sha256()
    for path in (lock_file, os.path.join(HERE, "pyproject.toml")):
        with open(path, "rb") as file:
            digest.update(file.read().replace(b"\r\n", b"\n"))
    digest.update(repr((tuple(sys.version_info[:3]), VENV)).encode("utf-8"))
    return digest.hexdigest()


def runs_from(folder):
    # type: (str) -> bool
    """Whether the running Python lives in a folder."""
    return os.path.normcase(os.path.realpath(sys.prefix)) == os.path.normcase(
        os.path.realpath(folder)
    )


def venv_python():
    # type: () -> str
    """Return the path of the Python inside .venv."""
    if os.name == "nt":
        return os.path.join(VENV, "Scripts", "python.exe")
    return os.path.join(VENV, "bin", "python")


def run_in_venv(arguments):
    # type: (list[str]) -> int
    """Run the Python inside .venv and return its exit code."""
    sys.stdout.flush()
    return subprocess.call([venv_python()] + arguments, cwd=HERE)


def fail(text):
    # type: (str) -> int
    """Say what is wrong and return the exit code of a bad request."""
    sys.stderr.write(text + "\n")
    return 2


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
