"""Setting the owner's limits and tables; each version is kept with where it comes from."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from .domain.inputs import InputError
from .domain.limit_set import START, checked
from .models import LimitVersion
from .records import Actor, Clash, record_event


@transaction.atomic
def set_limit(
    *,
    code: str,
    content: Mapping[str, Any],
    typed: Mapping[str, Any],
    source: str,
    why: str,
    actor: Actor,
    version: int = 0,
    edition: str = "",
    from_memory: bool = False,
    recheck_on: date | None = None,
) -> LimitVersion:
    """Add a version of a limit. `version` is the number that was read, 0 for the starting value.

    Raises ValidationError with a sentence per field for a value that cannot be, a missing source
    or reason, and where nothing differs; `Clash` where somebody was faster; KeyError for a code
    that is not listed.
    """
    try:
        setting = checked(code, content)
    except InputError as fault:
        raise ValidationError({fault.field: f"{fault.reason[:1].upper()}{fault.reason[1:]}"}) from (
            fault
        )
    missing = {
        name: "Say where this value comes from." if name == "source" else "Say why it changes."
        for name, text in (("source", source), ("why", why))
        if not text.strip()
    }
    if missing:
        raise ValidationError(missing)
    current = LimitVersion.objects.current().filter(code=code).first()
    if current is not None and current.number != version:
        raise Clash(current)
    before = current.content if current else START[code].content()
    fields = {
        "content": setting.content(), "source": source.strip(), "edition": edition.strip(),
        "from_memory": from_memory, "recheck_on": recheck_on,
    }  # fmt: skip
    if current and all(getattr(current, name) == value for name, value in fields.items()):
        return current
    LimitVersion.objects.filter(code=code, is_current=True).update(is_current=False)
    try:
        with transaction.atomic():
            saved = LimitVersion.objects.create(
                code=code, number=version + 1, typed=dict(typed), why=why.strip(),
                written_by=actor.name, **fields,
            )  # fmt: skip
    except IntegrityError as error:
        raise Clash(LimitVersion.objects.current().get(code=code)) from error
    record_event(
        actor=actor,
        verb="set limit",
        subject=saved,
        before={"content": before},
        after={"content": saved.content, "source": saved.source, "from_memory": from_memory},
        why=why,
    )
    return saved
