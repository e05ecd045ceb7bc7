"""Named checks: what rules ask for and inspections answer."""

from collections.abc import Sequence

from django.db import transaction

from installs.domain.wants import Want
from installs.models import Check
from vehicles.records import Actor, differing, record_event


@transaction.atomic
def add_check(
    *,
    slug: str,
    name: str,
    asks: str,
    actor: Actor,
    wants: Sequence[Want] = (),
    why: str = "",
) -> Check:
    """Add a check. Raises ValidationError with a sentence per field."""
    check = Check(slug=slug, name=name, asks=asks, wants=[want.to_dict() for want in wants])
    check.full_clean()
    check.save(force_insert=True)
    record_event(
        actor=actor,
        verb="added check",
        subject=check,
        after={"name": name, "asks": asks, "wants": check.wants},
        why=why,
    )
    return check


@transaction.atomic
def change_check(
    *,
    check: Check,
    name: str,
    asks: str,
    actor: Actor,
    wants: Sequence[Want] = (),
    why: str = "",
) -> Check:
    """Change what a check is called or asks for; inspections that answered it stay as they are."""
    told = {"name": name, "asks": asks, "wants": [want.to_dict() for want in wants]}
    current = Check.objects.select_for_update().get(pk=check.pk)
    real = differing(current, told)
    if not real:
        return current
    before = {key: getattr(current, key) for key in real}
    for key, value in real.items():
        setattr(current, key, value)
    current.full_clean()
    current.save(update_fields=list(real))
    record_event(
        actor=actor, verb="changed check", subject=current, before=before, after=real, why=why
    )
    return current
