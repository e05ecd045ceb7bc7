"""Parts by themselves: taken in, and what is known of them corrected."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse

from installs.models import Component
from installs.services import parts
from shop import changes
from shop.clock import today
from shop.desk.access import keepers
from shop.desk.actor import actor_of
from shop.desk.forms.component import ComponentForm
from shop.desk.saving import form_page, saved

from .common import page_of, towed_of


@keepers
def component_add(request: HttpRequest) -> HttpResponse:
    """Take a part in; with `?vehicle=` go on to fit it there."""
    target = request.GET.get("vehicle", "")
    vehicle = towed_of(request, int(target)) if target.isdecimal() else None
    form = ComponentForm(
        request.POST or None, today=today(), initial={"kind": request.GET.get("kind")}
    )

    def act() -> str:
        component = parts.add_component(actor=actor_of(request), **form.columns)
        messages.success(request, f"{component} is on the shelf.")
        if vehicle:
            return f"{reverse('desk:fit', args=[vehicle.pk])}?component={component.pk}"
        return reverse("desk:component", args=[component.pk])

    back = page_of(vehicle) if vehicle else reverse("desk:components")
    return saved(request, form, act) or form_page(
        request, form, title="Take a part in", back=back,
        crumbs=[(str(vehicle) if vehicle else "Parts", back)],
    )  # fmt: skip


@keepers
def component_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Correct what is known of a part."""
    rows = Component.objects.visible_to(request.user).select_related("kind")
    component = get_object_or_404(rows, pk=pk)
    form = ComponentForm(request.POST or None, today=today(), record=component)
    back = reverse("desk:component", args=[pk])

    def act() -> str:
        changes.change_component(
            component=component,
            changes=form.columns,
            version=form.cleaned_data["version"] or 0,
            today=today(),
            actor=actor_of(request),
        )
        messages.success(request, "The part's record is up to date.")
        return back

    return saved(request, form, act) or form_page(
        request, form, title=f"Change {component}", back=back,
        crumbs=[("Parts", reverse("desk:components")), (str(component), back)],
    )  # fmt: skip
