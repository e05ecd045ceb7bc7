"""Step templates: the revision in force, and writing the next one."""

from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from installs.domain.bay.template import shipped_document, template_faults
from installs.models import StepTemplate, StepTemplateRevision
from vehicles.records import PULLPIN, Actor, record_event

SHIPPED = "install"


@transaction.atomic
def current_revision(slug: str = SHIPPED) -> StepTemplateRevision:
    """Return the revision in force; the shipped template is written on first use."""
    found = StepTemplateRevision.objects.filter(template__slug=slug, is_current=True).first()
    if found:
        return found
    document = shipped_document()
    template, _ = StepTemplate.objects.get_or_create(
        slug=SHIPPED, defaults={"name": document["name"]}
    )
    return revise_template(
        template=template, content=document, actor=PULLPIN, note="as the program brings it"
    )


@transaction.atomic
def revise_template(
    *, template: StepTemplate, content: dict[str, Any], actor: Actor, note: str = ""
) -> StepTemplateRevision:
    """Write the next revision of a template. Jobs that are open keep the one they began with.

    Raises ValidationError with a sentence for every fault, each with its place.
    """
    faults = template_faults(content)
    if faults:
        raise ValidationError({"content": [str(fault) for fault in faults]})
    StepTemplate.objects.select_for_update().get(pk=template.pk)
    last = template.revisions.order_by("-number").first()
    if last and last.content == content:
        return last
    template.revisions.filter(is_current=True).update(is_current=False)
    revision = StepTemplateRevision.objects.create(
        template=template,
        number=last.number + 1 if last else 1,
        content=content,
        note=note,
        written_by=actor.name,
    )
    record_event(
        actor=actor,
        verb="revised step template",
        subject=revision,
        after={"number": revision.number, "steps": len(content["steps"])},
        why=note,
    )
    return revision
