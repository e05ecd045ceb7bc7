"""Reading docker-compose.yml as a container engine would: merge keys, variables, commands."""

import os
import re
import shlex
import signal
import subprocess
import sys
import time
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import yaml

ROOT = Path(__file__).resolve().parents[2]
VARIABLE = re.compile(r"\$\{(\w+)(?::([-?])([^}]*))?\}")


def services(given: Mapping[str, str]) -> dict[str, Any]:
    """Return the services of the file, with its variables taken from `given` or their defaults.

    Raises KeyError for a variable that the file demands and `given` lacks.
    """

    def value(found: re.Match[str]) -> str:
        name, kind, word = found.groups()
        if kind == "-":
            return given.get(name) or word
        return given[name]

    def filled(part: Any) -> Any:
        if isinstance(part, dict):
            return {key: filled(value) for key, value in part.items()}
        if isinstance(part, list):
            return [filled(value) for value in part]
        return VARIABLE.sub(value, part) if isinstance(part, str) else part

    # Parsed first, as an engine does: a variable's value is never read as YAML.
    return filled(yaml.safe_load((ROOT / "docker-compose.yml").read_text())["services"])


@dataclass
class Machine:
    """Runs services of the file as processes here; `elsewhere` replaces what containers provide."""

    services: Mapping[str, Any]
    elsewhere: Mapping[str, str]
    folder: Path
    running: dict[str, subprocess.Popen[bytes]] = field(default_factory=dict)

    def environment(self, name: str) -> dict[str, str]:
        """Return exactly the service's environment, and where this machine keeps its programs."""
        given = {key: self.here(str(v)) for key, v in self.services[name]["environment"].items()}
        programs = f"{Path(sys.executable).parent}:{os.environ['PATH']}"
        return {**given, "PATH": programs, "PULLPIN_VAR": str(self.folder)}

    def here(self, text: str) -> str:
        for there, here in self.elsewhere.items():
            text = text.replace(there, here)
        return text

    def start(self, name: str) -> subprocess.Popen[bytes]:
        """Start the service's command; what it says goes into a file of its name."""
        command = shlex.split(self.here(self.services[name]["command"]))
        with (self.folder / f"{name}.log").open("wb") as log:
            self.running[name] = subprocess.Popen(
                command,
                cwd=ROOT,
                env=self.environment(name),
                stdout=log,
                stderr=log,
                start_new_session=True,
            )
        return self.running[name]

    def said(self) -> str:
        """Return what all services wrote so far."""
        logs = sorted(self.folder.glob("*.log"))
        return "\n".join(f"--- {log.stem}\n{log.read_text()[-3000:]}" for log in logs)

    def stop(self, seconds: float = 15) -> dict[str, int]:
        """Stop all as `docker compose down` does, SIGTERM first; return their exit codes."""
        for process in self.running.values():
            process.terminate()
        end = time.monotonic() + seconds
        codes = {}
        for name, process in self.running.items():
            try:
                codes[name] = process.wait(max(0.1, end - time.monotonic()))
            except subprocess.TimeoutExpired:
                os.killpg(process.pid, signal.SIGKILL)
                codes[name] = process.wait()
        return codes
