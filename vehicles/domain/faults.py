"""What is wrong with a document, and where: one sentence for each fault.

A ``Fault`` names its place as a path of keys and positions counted from 0, joined by
slashes (``/feed_map/fuses/3/rating_a``), as RFC 6901 writes a JSON pointer. Schema errors
are turned into sentences that a person at the desk can act on.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any


@dataclass(frozen=True, slots=True, order=True)
class Fault:
    """One fault: ``place`` is a JSON pointer into the document, ``sentence`` says what to mend."""

    place: str
    sentence: str

    def under(self, prefix: str) -> Fault:
        """The same fault as seen from a document that holds this one at ``prefix``."""
        return Fault(prefix + self.place, self.sentence)

    def __str__(self) -> str:
        return f"{self.place or '/'}: {self.sentence}"


def pointer(parts: Iterable[object]) -> str:
    """Join keys and positions to a JSON pointer, escaped as RFC 6901 section 3 asks."""
    return "".join("/" + str(part).replace("~", "~0").replace("/", "~1") for part in parts)


def load_schema(path: Path) -> dict[str, Any]:
    """Read one of the schemas that ship with the code."""
    schema: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return schema


def schema_faults(validator: Any, data: object) -> list[Fault]:
    """Every fault that a ``jsonschema`` validator finds in ``data``, as sentences."""
    return sorted({fault for error in validator.iter_errors(data) for fault in _faults(error)})


TYPE_WORDS = {
    "object": "a group of named values",
    "array": "a list",
    "string": "a text",
    "number": "a number",
    "integer": "a whole number",
    "boolean": "true or false",
    "null": "null",
}


def _faults(error: Any) -> Iterator[Fault]:
    place = pointer(error.absolute_path)
    if error.validator == "required":
        for key in error.validator_value:
            if isinstance(error.instance, Mapping) and key not in error.instance:
                yield Fault(place, f"“{key}” is missing.")
    elif error.validator == "additionalProperties":
        known = error.schema.get("properties", {})
        for key in sorted(set(error.instance) - set(known)):
            yield Fault(
                place + pointer([key]),
                f"“{key}” is not a name this part of the sheet knows: {', '.join(known)}.",
            )
    elif error.validator in ("oneOf", "anyOf"):
        yield from _of_alternatives(error, place)
    else:
        yield Fault(place, _sentence(error))


def _of_alternatives(error: Any, place: str) -> Iterator[Fault]:
    """Report the alternative that the writer most likely meant: the one of the right type."""
    groups: dict[int, list[Any]] = {}
    for inner in error.context:
        groups.setdefault(inner.schema_path[0], []).append(inner)
    fitting = [
        group
        for group in groups.values()
        if not any(e.validator == "type" and len(e.path) == 0 for e in group)
    ]
    if len(fitting) == 1:
        for inner in fitting[0]:
            yield from _faults(inner)
        return
    words = [
        TYPE_WORDS.get(kind, kind)
        for option in error.validator_value
        for kind in [option.get("type", "one of the listed values")]
        if isinstance(kind, str)
    ]
    yield Fault(place, f"This must be {' or '.join(dict.fromkeys(words))}.")


LONGEST_SHOWN = 60


def _shown(value: object) -> str:
    text = json.dumps(value, ensure_ascii=False)
    return text if len(text) <= LONGEST_SHOWN else text[: LONGEST_SHOWN - 1] + "…"


def _types(limit: str | list[str]) -> str:
    kinds = [limit] if isinstance(limit, str) else limit
    return " or ".join(TYPE_WORDS.get(kind, kind) for kind in kinds)


def _options(limit: list[object]) -> str:
    return ", ".join("null" if option is None else str(option) for option in limit)


SENTENCES: dict[str, Callable[[Any], str]] = {
    "type": lambda e: f"must be {_types(e.validator_value)}.",
    "enum": lambda e: f"is not one of: {_options(e.validator_value)}.",
    "const": lambda e: f"must be {json.dumps(e.validator_value)}.",
    "minimum": lambda e: f"must be at least {e.validator_value}.",
    "exclusiveMinimum": lambda e: f"must be more than {e.validator_value}.",
    "maximum": lambda e: f"must be at most {e.validator_value}.",
    "minLength": lambda e: "must not be empty.",
    "minItems": lambda e: f"must hold at least {e.validator_value}.",
    "maxLength": lambda e: f"is longer than {e.validator_value} characters.",
    "pattern": lambda e: f"does not fit: {e.schema.get('description', 'see the schema')}.",
    "uniqueItems": lambda e: "names something twice.",
}


def _sentence(error: Any) -> str:
    word = SENTENCES.get(error.validator)
    return f"{_shown(error.instance)} {word(error)}" if word else str(error.message)
