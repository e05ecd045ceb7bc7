"""Unfolding a picture in a process of its own, which may die of it.

A damaged HEIC can kill its reader outright, and with it a web server that serves others. So each
one is opened by a process that does nothing else, has little memory and time, and gets no part of
the environment but where programs are.
"""

from __future__ import annotations

import base64
import json
import os
import resource
import subprocess
import sys
from pathlib import Path

from .unfold import PhotoRefused, Unfolded, damaged, unfold

SECONDS = 20
_MEMORY = 2 * 1024**3  # address space, of which the largest photo uses a quarter
_REFUSED = 3
_ROOT = Path(__file__).resolve().parents[2]


def unfold_apart(data: bytes, kind: str, long_side: int) -> Unfolded:
    """Return what `unfold` returns, from another process. Raises PhotoRefused, as it does.

    A process that dies or does not come back has met a damaged file.
    """
    try:
        done = subprocess.run(  # noqa: S603 - our own module, and no shell
            [sys.executable, "-m", __name__, kind, str(long_side)],
            input=data,
            capture_output=True,
            check=False,
            cwd=_ROOT,
            env={"PATH": os.environ.get("PATH", "")},
            timeout=SECONDS,
        )
    except subprocess.TimeoutExpired:
        raise PhotoRefused(damaged(kind)) from None
    if done.returncode == _REFUSED:
        raise PhotoRefused(done.stdout.decode())
    if done.returncode:
        raise PhotoRefused(damaged(kind))
    told = json.loads(done.stdout)
    return Unfolded(
        jpeg=base64.b64decode(told["jpeg"]),
        thumb=base64.b64decode(told["thumb"]),
        width=told["width"],
        height=told["height"],
        times=tuple((at, offset) for at, offset in told["times"]),
    )


def main(kind: str, long_side: str) -> int:
    """Unfold what comes in and write it out; the exit code says whether it was refused."""
    resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))
    if sys.platform == "linux":  # elsewhere the limit is not kept, or set below what is in use
        resource.setrlimit(resource.RLIMIT_AS, (_MEMORY, _MEMORY))
    try:
        picture = unfold(sys.stdin.buffer.read(), kind, int(long_side))
    except PhotoRefused as refused:
        sys.stdout.write(str(refused))
        return _REFUSED
    told = {
        "jpeg": base64.b64encode(picture.jpeg).decode(),
        "thumb": base64.b64encode(picture.thumb).decode(),
        "width": picture.width,
        "height": picture.height,
        "times": picture.times,
    }
    json.dump(told, sys.stdout)
    return 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
