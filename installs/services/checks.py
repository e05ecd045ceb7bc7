"""Named checks: what rules ask for and inspections answer."""

from django.db import transaction

from installs.models import Check
from vehicles.records import Actor, differing, record_event


@transaction.atomic
def add_check(*, slug: str, name: str, asks: str, actor: Actor, why: str = "") -> Check:
    """Add a check. Raises ValidationError with a sentence per field."""
    check = Check(slug=slug, name=name, asks=asks)
    check.full_clean()
    check.save(force_insert=True)
    record_event(
        actor=actor, verb="added check", subject=check, after={"name": name, "asks": asks}, why=why
    )
    return check


@transaction.atomic
def change_check(*, check: Check, name: str, asks: str, actor: Actor, why: str = "") -> Check:
    """Change what a check is called or asks for; inspections that answered it stay as they are."""
    current = Check.objects.select_for_update().get(pk=check.pk)
    real = differing(current, {"name": name, "asks": asks})
    if not real:
        return current
    before = {key: getattr(current, key) for key in real}
    current.name, current.asks = name, asks
    current.full_clean()
    current.save(update_fields=list(real))
    record_event(
        actor=actor, verb="changed check", subject=current, before=before, after=real, why=why
    )
    return current
