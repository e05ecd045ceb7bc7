"""Enter an interpreter that has the locked packages; made here, with the standard library only."""

import hashlib
import os
import re
import subprocess
import sys
from importlib import metadata
from pathlib import Path

from . import system

ROOT = Path(__file__).resolve().parents[2]
VENV = ROOT / ".venv"
PYTHON = VENV / "bin" / "python"


def enter(*, developing: bool) -> None:
    """Return when this interpreter has the packages; else set up ./.venv and start again in it."""
    lock = ROOT / ("requirements-dev.lock" if developing else "requirements.lock")
    if not _inside() and _has_everything(lock):
        return
    stamp = VENV / f"{lock.name}.sha256"
    wanted = hashlib.sha256(lock.read_bytes()).hexdigest()
    if not (PYTHON.exists() and stamp.exists() and stamp.read_text() == wanted):
        _install(lock)
        stamp.write_text(wanted)
    if not _inside():
        os.execv(PYTHON, [str(PYTHON), *sys.argv])


def _inside() -> bool:
    return Path(sys.prefix) == VENV


def _has_everything(lock: Path) -> bool:
    """Tell whether each package that every machine needs is here in its locked version."""
    pins = re.findall(r"^([\w.-]+)==(\S+) \\$", lock.read_text(), re.MULTILINE)
    try:
        return all(metadata.version(name) == version for name, version in pins)
    except metadata.PackageNotFoundError:
        return False


def _install(lock: Path) -> None:
    if not PYTHON.exists():
        _make_venv()
    print(
        f"Installing the packages of {lock.name} into ./.venv, once …", file=sys.stderr, flush=True
    )
    pip = [str(PYTHON), "-m", "pip", "install", "--disable-pip-version-check", "--no-input", "-qq"]
    if subprocess.run([*pip, "-r", str(lock)], check=False).returncode:
        sys.exit(
            "The packages could not be installed, see above: most often the network is missing. "
            "Nothing is lost, start the same command again."
        )


def _make_venv() -> None:
    """Make ./.venv; Debian and Ubuntu keep the part of Python that can do it in its own package."""
    package = f"python3.{sys.version_info.minor}-venv"
    try:
        import ensurepip  # noqa: F401, PLC0415 -- its absence is the question
    except ImportError:
        if not system.apt_install([package]):
            sys.exit(
                f"This Python cannot make virtual environments: install the package {package}, "
                f"for example with `sudo apt-get install {package}`, and start again."
            )
    # In a process of its own: this one may have looked for the missing part already.
    made = subprocess.run([sys.executable, "-m", "venv", "--clear", str(VENV)], check=False)
    if made.returncode:
        sys.exit("The virtual environment ./.venv could not be made, see above.")
