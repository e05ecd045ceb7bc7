"""The owner's rules: written in a form, read as a sentence before they are saved."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse

from shop.clock import today
from shop.desk.access import owners
from shop.desk.actor import actor_of
from shop.desk.saving import form_page, saved, take_collision
from shop.office.forms.rules import RuleForm
from shop.reminders.models import DueItem, ServiceRule
from shop.reminders.services import save_rule, sentence

from .records import crumbs


@owners
def rule_add(request: HttpRequest) -> HttpResponse:
    """Add a rule."""
    return _rule(request, None)


@owners
def rule_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a rule; what it was is kept as a version."""
    return _rule(request, get_object_or_404(ServiceRule, pk=pk))


def _rule(request: HttpRequest, rule: ServiceRule | None) -> HttpResponse:
    form = RuleForm(request.POST or None, today=today(), record=rule)
    back = reverse("office:rules")

    def act() -> str:
        made = _save(request, form, rule)
        messages.success(request, f"In force: {sentence(made)}")
        return back

    read = _read(request, form, rule) if "look" in request.POST else None
    done = None if "look" in request.POST else saved(request, form, act)
    return done or form_page(
        request, form, title=f"Change “{rule}”" if rule else "Add a rule", back=back,
        template="office/rule.html", crumbs=crumbs("Rules", "office:rules"),
        context={
            "read": read,
            "now": sentence(rule) if rule else "",
            "versions": rule.versions.all() if rule else (),
        },
    )  # fmt: skip


def _save(request: HttpRequest, form: RuleForm, rule: ServiceRule | None) -> ServiceRule:
    told = form.cleaned_data
    return save_rule(
        rule=rule, fields=form.columns, version=told["version"] or 1, why=told["reason"],
        today=today(), actor=actor_of(request),
    )  # fmt: skip


def _read(
    request: HttpRequest, form: RuleForm, rule: ServiceRule | None
) -> dict[str, object] | None:
    """Return the rule as a sentence and what it would make due, tried and taken back."""
    if not form.is_valid():
        return None
    try:
        with transaction.atomic():
            made = _save(request, form, rule)
            items = DueItem.objects.open().filter(rule=made)
            read = {
                "sentence": sentence(made),
                "items": items.count(),
                "late": items.overdue(today()).count(),
            }
            transaction.set_rollback(True)
    except ValidationError as error:
        form.take_faults(error)
        return None
    except IntegrityError as error:
        take_collision(form, error)
        return None
    return read
