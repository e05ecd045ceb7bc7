"""Private servers for tests and benches: own port, own folder, gone at the end.

Nothing here touches a server that is already running on the machine.
"""

import contextlib
import getpass
import os
import shutil
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

START_SECONDS = 30
# Crash resistance is not what these servers are for; speed is.
POSTGRES_OPTIONS = "-c fsync=off -c synchronous_commit=off -c full_page_writes=off"


def free_port(first: int = 0, tries: int = 1) -> int:
    """Return a free port of this machine: any (first=0), or the first of `tries` from `first`.

    Raises OSError when all of them are taken.
    """
    for port in range(first, first + tries - 1):
        with contextlib.suppress(OSError):
            return _bind(port)
    return _bind(first + tries - 1)


def _bind(port: int) -> int:
    with socket.socket() as probe:
        # As the web server itself does: a port that only waits out its last connection is free.
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        probe.bind(("127.0.0.1", port))
        return int(probe.getsockname()[1])


def postgresql_programs() -> Path | None:
    """Return the folder with PostgreSQL's server programs (the newest), or None."""
    if found := shutil.which("initdb"):
        return Path(found).parent
    folders = [
        *Path("/usr/lib/postgresql").glob("*/bin"),
        *Path("/opt/homebrew/opt").glob("postgresql*/bin"),
        *Path("/usr/local/opt").glob("postgresql*/bin"),
    ]
    able = [folder for folder in folders if (folder / "initdb").exists()]
    return max(
        able,
        key=lambda folder: [int(n) for n in folder.parent.name.split("@") if n.isdigit()],
        default=None,
    )


@contextlib.contextmanager
def postgresql() -> Iterator[str | None]:
    """Start a private PostgreSQL; yield its DATABASE_URL, or None where it is not installed."""
    programs = postgresql_programs()
    if programs is None:
        yield None
        return
    folder = Path(tempfile.mkdtemp(prefix="pullpin-pg-"))
    person: Sequence[str] = ()
    if os.geteuid() == 0:  # PostgreSQL refuses to run as root.
        person = ("runuser", "-u", "postgres", "--")
        shutil.chown(folder, "postgres")
    port = free_port()
    control = [*person, str(programs / "pg_ctl"), "-D", str(folder / "data"), "-s", "-w"]
    options = f"{POSTGRES_OPTIONS} -p {port} -k {folder} -h 127.0.0.1"
    try:
        initdb = [str(programs / "initdb"), "-D", str(folder / "data"), "-A", "trust"]
        _run(
            [*person, *initdb, "-U", "pullpin", "-E", "UTF8", "--locale=C.UTF-8", "--no-sync"],
            folder,
        )
        _run([*control, "-l", str(folder / "log"), "-o", options, "start"], folder)
        try:
            yield f"postgres://pullpin@127.0.0.1:{port}/postgres"
        finally:
            _run([*control, "-m", "immediate", "stop"], folder)
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@contextlib.contextmanager
def redis() -> Iterator[str | None]:
    """Start a private Redis; yield its REDIS_URL, or None where it is not installed."""
    program = shutil.which("redis-server")
    if program is None:
        yield None
        return
    port = free_port()
    options = ["--port", str(port), "--bind", "127.0.0.1", "--save", "", "--appendonly", "no"]
    with tempfile.TemporaryDirectory(prefix="pullpin-redis-") as folder:
        server = subprocess.Popen([program, *options], cwd=folder, stdout=subprocess.DEVNULL)
        try:
            wait_for_port(port)
            yield f"redis://127.0.0.1:{port}/0"
        finally:
            server.terminate()
            server.wait()


def wait_for_port(port: int, seconds: float = START_SECONDS) -> None:
    """Return once something listens on the port; raise TimeoutError when nothing does in time."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), 1):
            return
        time.sleep(0.05)
    raise TimeoutError(f"Nothing listens on port {port} after {seconds:g} seconds.")


def _run(command: Sequence[str], folder: Path) -> None:
    """Run a server's tool quietly; when it fails, raise RuntimeError with what it said."""
    # Standard output is a file: a server started by the tool would keep a pipe open for ever.
    with tempfile.TemporaryFile("w+") as said:
        done = subprocess.run(
            command, check=False, cwd=folder, stdin=subprocess.DEVNULL, stdout=said, stderr=said
        )
        if done.returncode:
            said.seek(0)
            raise RuntimeError(f"{command} failed for {getpass.getuser()}: {said.read()}")
