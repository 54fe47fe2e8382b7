"""Makes the virtual environment that `manage.py` runs in, from the locks in `.requirements`.

Standard library only: this runs before anything is installed. Only `demo` and `test` install;
every other command uses what is there. A record inside `.venv` holds the digest of each lock
installed, so a second run skips the work and a changed lock is noticed.
"""

from __future__ import annotations

import hashlib
import importlib.util
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import NoReturn

ROOT = Path(__file__).resolve().parents[2]
LOCKS = ROOT / ".requirements"
HOME = ROOT / ".venv"
PYTHON = HOME / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
RECORD = HOME / "installed-locks.json"

LOCKS_OF_COMMAND = {"demo": ["runtime"], "test": ["runtime", "test", "browser"]}


def enter(arguments: list[str]) -> None:
    """Returns where this Python may run the command; else goes on in `.venv`, or says why not.

    A virtual environment of the reader's own is used as it is, if it holds what the command needs.
    """
    command = arguments[0] if arguments else ""
    inside = Path(sys.prefix).resolve() == HOME.resolve()
    own = sys.prefix != sys.base_prefix and not inside
    if own and _has("django") and (command != "test" or _has("pytest")):
        return
    wanted = locks_wanted(command, os.environ.get("DATABASE_URL", ""))
    whole = recorded() is not None and (_has("django") if inside else venv_has("django"))
    if wanted and not (whole and installed(wanted)):
        install(wanted, "python3 manage.py " + " ".join(arguments))
        run_in_venv(arguments)
    elif whole and not inside:
        run_in_venv(arguments)
    elif not _has("django"):
        sys.exit(
            f"Django is not installed for {sys.executable}. `python3 manage.py demo --no-serve` "
            f"sets up {HOME}; or install {LOCKS / 'runtime.txt'} into an environment of your own "
            "with pip and use that."
        )


def locks_wanted(command: str, database_url: str) -> list[str]:
    """The names of the locks that a command installs; none for all but `demo` and `test`."""
    wanted = list(LOCKS_OF_COMMAND.get(command, []))
    if wanted and database_url.startswith("postgres"):
        wanted.append("postgres")
    return wanted


def digest(lock: str) -> str:
    return hashlib.sha256((LOCKS / f"{lock}.txt").read_bytes()).hexdigest()


def recorded() -> dict[str, str] | None:
    """Digest by lock name; empty without a record, None after an install that was cut short."""
    try:
        record: dict[str, str] = json.loads(RECORD.read_text())
    except (FileNotFoundError, NotADirectoryError):
        return {}
    except ValueError:
        return None
    return record


def installed(wanted: list[str]) -> bool:
    record = recorded() or {}
    return all(record.get(lock) == digest(lock) for lock in wanted)


def venv_has(module: str) -> bool:
    """Whether `.venv` holds a Python of 3.11 or later that finds the module."""
    probe = (
        "import importlib.util as u, sys;"
        f"sys.exit(sys.version_info < (3, 11) or not u.find_spec({module!r}))"
    )
    try:
        return subprocess.run([PYTHON, "-c", probe], stderr=subprocess.DEVNULL).returncode == 0
    except OSError:
        return False


def install(wanted: list[str], command: str) -> None:
    """Brings `.venv` to the wanted locks and those installed before; safe to cut short."""
    before = recorded()
    # What is there is kept up to date too, so that `demo` never breaks a later `test`.
    locks = [name for name in ("runtime", "test", "browser", "postgres")
             if name in wanted or name in (before or {})]  # fmt: skip
    _say(f"Setting up {HOME} with the packages locked in {LOCKS}: {', '.join(locks)}.")
    _say("This takes about a minute, once.")
    if before is None or not venv_has("pip"):
        before = {}
        _make_venv(command)
    RECORD.write_text("")  # a cut from here on leaves an unreadable record, so a fresh start
    files = [word for lock in locks for word in ("-r", str(LOCKS / f"{lock}.txt"))]
    pip = [str(PYTHON), "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    code = subprocess.call([*pip, "--no-input", *files], env={**os.environ, "PIP_USER": "0"})
    if code:
        RECORD.write_text(json.dumps(before))
        sys.exit(
            f"pip ended with status {code} while installing {', '.join(locks)} into {HOME}; its "
            "own words are above. Check that this machine reaches its Python package registry "
            f"(network, proxy, pip settings) and has free disk space, then run `{command}` again."
        )
    RECORD.write_text(json.dumps({lock: digest(lock) for lock in locks}, indent=1))
    _say("Set-up is done.")


def _make_venv(command: str) -> None:
    if not (_has("venv") and _has("ensurepip")):
        sys.exit(
            f"{sys.executable} lacks the parts that make virtual environments. On Debian and "
            f"Ubuntu: `apt install python3-venv`; then run `{command}` again."
        )
    try:
        if HOME.is_symlink():
            HOME.unlink()
        elif HOME.exists():
            shutil.rmtree(HOME)
        HOME.mkdir()
        RECORD.write_text("")
        import venv  # here, since some systems leave it out of their Python

        venv.create(HOME, with_pip=True, symlinks=os.name != "nt")
    except (OSError, subprocess.CalledProcessError) as error:
        sys.exit(
            f"Can't make {HOME}: {error}. Move away what stands in its place, let this user write "
            f"in {ROOT}, and see that the disk has room; then run `{command}` again."
        )


def run_in_venv(arguments: list[str]) -> NoReturn:
    """Runs manage.py again with the Python of `.venv`."""
    words = [str(PYTHON), str(ROOT / "manage.py"), *arguments]
    if os.name == "nt":  # there exec would hand the console back before the command ends
        sys.exit(subprocess.call(words))
    sys.stdout.flush()
    os.execv(PYTHON, words)  # noqa: S606


def run_tests(arguments: list[str]) -> int:
    """Runs pytest on every core and returns its exit code: without arguments the quick tests.

    `--all` adds the tests marked slow; all other arguments are pytest's own, and then it runs
    what they say.
    """
    words: list[str] = []
    own = [argument for argument in arguments if argument != "--all"]
    if not own:
        words += [] if "--all" in arguments else ["-m", "not slow"]
        # In the order of the folders: the browser's tests take longest, and must not come last.
        words += ["--numprocesses=auto", "--maxprocesses=4", "--dist=loadfile"]
        words += ["--no-loadscope-reorder"]
        words += ["--durations=10", "--durations-min=2"]
    return subprocess.call([sys.executable, "-m", "pytest", *words, *own], cwd=ROOT)


def _has(module: str) -> bool:
    return importlib.util.find_spec(module) is not None


def _say(sentence: str) -> None:
    print(sentence, file=sys.stderr, flush=True)
