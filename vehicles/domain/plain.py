"""Frozen dataclasses to plain JSON values and back, leaving out what is at its default.

The JSON forms are what a person writes by hand, so a list of one feed is written as one
text, and a value that says nothing (the default) is not written at all.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Any, ClassVar, Self


class Plain:
    """Mixin for frozen dataclasses whose fields are JSON values, tuples or other ``Plain``s."""

    # Fields that hold a tuple but may be written as the bare value when there is only one.
    ONE_OR_MORE: ClassVar[frozenset[str]] = frozenset()
    # Fields that the schema demands: "nobody knows" is said, never left out.
    ALWAYS: ClassVar[frozenset[str]] = frozenset()

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> Self:
        """Build from a validated JSON object. Unknown keys raise ``TypeError``."""
        values = {}
        for key, value in data.items():
            if key in cls.ONE_OR_MORE and isinstance(value, str):
                values[key] = (value,)
            else:
                values[key] = tuple(value) if isinstance(value, list) else value
        return cls(**values)

    def to_dict(self) -> dict[str, Any]:
        """The JSON object that ``from_dict`` turns into an equal value."""
        written: dict[str, Any] = {}
        for field in dataclasses.fields(self):  # type: ignore[arg-type]
            value = getattr(self, field.name)
            if value == _default(field) and field.name not in self.ALWAYS:
                continue
            if field.name in self.ONE_OR_MORE and len(value) == 1:
                value = value[0]
            written[field.name] = plain(value)
        return written


def _default(field: dataclasses.Field[Any]) -> Any:
    if field.default_factory is not dataclasses.MISSING:
        return field.default_factory()
    return field.default


def plain(value: Any) -> Any:
    """JSON values only: tuples become lists, ``Plain``s become objects."""
    if isinstance(value, Plain):
        return value.to_dict()
    if isinstance(value, (tuple, list)):
        return [plain(item) for item in value]
    if isinstance(value, Mapping):
        return {key: plain(item) for key, item in value.items()}
    return value
