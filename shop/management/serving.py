"""Web server and worker side by side until Ctrl-C, for one machine."""

import contextlib
import os
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from types import FrameType

from . import servers

ROOT = Path(__file__).resolve().parents[2]
PORTS_TRIED = 20
GRACE_SECONDS = 20


class PortsTakenError(Exception):
    """None of the ports that were tried is free; the message says so to a person."""


def pick_port(wanted: int) -> int:
    """Return the wanted port, or the next free one after saying so. Raises PortsTakenError."""
    try:
        port = servers.free_port(wanted, PORTS_TRIED)
    except OSError as error:
        last = wanted + PORTS_TRIED - 1
        raise PortsTakenError(
            f"The ports {wanted} to {last} are all taken: choose another one with --port."
        ) from error
    if port != wanted:
        print(f"Port {wanted} is taken, using {port}.", flush=True)
    return port


def serve(port: int, environment: dict[str, str]) -> int:
    """Run web and worker until one ends or somebody stops this process; end both, return the code.

    0 after Ctrl-C or SIGTERM, 1 when one of them ended by itself. A variable that is set already
    outranks `environment`: a shop that names its public address keeps it.
    """
    told_to_stop = False

    def stop(number: int, frame: FrameType | None) -> None:
        nonlocal told_to_stop
        told_to_stop = True

    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, stop)
    gunicorn = [sys.executable, "-m", "gunicorn", "shop.wsgi", "--bind", f"127.0.0.1:{port}"]
    processes = [
        _start(
            [*gunicorn, "--workers", "2", "--log-level", "warning", "--no-control-socket"],
            environment,
        ),
        _start([sys.executable, "manage.py", "worker"], environment),
    ]
    try:
        while not told_to_stop and all(process.poll() is None for process in processes):
            time.sleep(0.2)
    finally:
        _end(processes)
    if told_to_stop:
        return 0
    print("The web server or the worker ended by itself, see above.", file=sys.stderr)
    return 1


def _start(command: Sequence[str], environment: dict[str, str]) -> subprocess.Popen[bytes]:
    # A session of its own: Ctrl-C reaches only this process, which then ends them in order.
    return subprocess.Popen(
        command, cwd=ROOT, env={**environment, **os.environ}, start_new_session=True
    )


def _end(processes: Sequence[subprocess.Popen[bytes]]) -> None:
    for process in processes:
        with contextlib.suppress(ProcessLookupError):
            process.terminate()
    for process in processes:
        try:
            process.wait(GRACE_SECONDS)
        except subprocess.TimeoutExpired:
            # The whole group: a killed parent would leave its children behind.
            os.killpg(process.pid, signal.SIGKILL)
            process.wait()
