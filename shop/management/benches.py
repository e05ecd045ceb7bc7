"""Finding and running the benches: each `bench_*` function of a file in tests/bench is one.

Such a function takes the name of the database it runs on ("sqlite" or "postgresql") and returns a
list of dicts with `name`, `value`, `unit`, `limit` (at most this; None only informs) and `scale`.
Its file has a fresh, migrated database to itself and may fill it as it likes.
"""

import importlib.util
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).resolve().parents[2] / "tests" / "bench"
FIELDS = {"name", "value", "unit", "limit", "scale"}
Bench = Callable[[str], list[dict[str, Any]]]


def bench_files(folder: Path = FOLDER) -> list[Path]:
    """Return the files that may hold benches, in order of their names."""
    return sorted(folder.glob("[!_]*.py"))


def benches_in(file: Path) -> Iterator[Bench]:
    """Yield the benches of a file, in the order in which it defines them."""
    spec = importlib.util.spec_from_file_location(f"bench_of_{file.stem}", file)
    if spec is None or spec.loader is None:
        raise ImportError(f"{file} is no Python file.")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    for name, thing in vars(module).items():
        if name.startswith("bench_") and getattr(thing, "__module__", "") == module.__name__:
            yield thing


def figures_of(bench: Bench, database: str) -> Iterator[dict[str, Any]]:
    """Run one bench; yield its figures. Raises ValueError for one with wrong fields."""
    for figure in bench(database):
        if set(figure) != FIELDS:
            raise ValueError(f"A figure has the fields {sorted(FIELDS)}, not {sorted(figure)}.")
        yield {**figure, "database": database}


def is_over(figure: Mapping[str, Any]) -> bool:
    """Tell whether a figure exceeds its limit."""
    return figure["limit"] is not None and figure["value"] > figure["limit"]
