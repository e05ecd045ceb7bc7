"""Parts on vehicles: fitted, rewired, moved, taken out."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404
from django.urls import reverse

from installs.models import Component
from shop import changes
from shop.clock import today
from shop.desk.access import staff
from shop.desk.actor import actor_of
from shop.desk.forms.component import ChoosePartForm, FitForm, FittingForm, MoveForm, RemoveForm
from shop.desk.saving import form_page, saved
from vehicles.models import Vehicle

from .common import crumbs_of, fitting_of, page_of, telling_raised, towed_of

WIRING_CAUTIONS = (
    (
        "WARNING",
        "Battery and airbags, before anything is drilled, tapped or unplugged:",
        (
            "Disconnect the battery in the vehicle maker's order and wait as long as the maker "
            "says before touching wiring.",
            "Keep drill, probe and tap out of airbag and belt-tensioner zones and their wiring.",
        ),
    ),
    (
        "CAUTION",
        "Before the stop-lamp wire is cut, take its fuse out: with the fuse in, the end is live "
        "as soon as the pedal is touched.",
        (),
    ),
)


@staff
def fit(request: HttpRequest, pk: int) -> HttpResponse:
    """Fit the part that `?component=` names; without one, ask which."""
    vehicle = towed_of(request, pk)
    if not request.GET.get("component"):
        return _choose(request, vehicle)
    component = _component(request)
    form = FitForm(request.POST or None, today=today(), kind=component.kind, vehicle=vehicle)

    def act() -> str:
        told = form.cleaned_data
        with telling_raised(request, [pk]):
            changes.fit_component(
                component=component, vehicle=vehicle, since=told["since"], place=told["place"],
                ports=told["ports"], note=told["note"], today=today(), actor=actor_of(request),
            )  # fmt: skip
            messages.success(request, f"{component} is fitted to {vehicle}.")
        return page_of(vehicle)

    return saved(request, form, act) or form_page(
        request, form, title=f"Fit {component} to {vehicle}", back=page_of(vehicle),
        crumbs=crumbs_of(vehicle), cautions=WIRING_CAUTIONS,
    )  # fmt: skip


def _component(request: HttpRequest) -> Component:
    key = request.GET["component"]
    rows = Component.objects.visible_to(request.user).select_related("kind")
    return get_object_or_404(rows, pk=int(key) if key.isdecimal() else 0)


def _choose(request: HttpRequest, vehicle: Vehicle) -> HttpResponse:
    form = ChoosePartForm(request.POST or None, today=today())
    if request.method == "POST" and form.is_valid():
        chosen = form.cleaned_data["component"]
        return HttpResponseRedirect(f"{request.path}?component={chosen.pk}")
    return form_page(
        request, form, title=f"Which part goes onto {vehicle}?", back=page_of(vehicle),
        crumbs=crumbs_of(vehicle), template="desk/records/choose_part.html",
        context={"save": "Next: what it hangs on", "vehicle": vehicle},
    )  # fmt: skip


@staff
def fitting_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change where a part is mounted and what its ports hang on."""
    fitting = fitting_of(request, pk)
    vehicle, kind = fitting.vehicle, fitting.component.kind
    form = FittingForm(
        request.POST or None, today=today(), record=fitting, kind=kind, vehicle=vehicle
    )

    def act() -> str:
        told = form.cleaned_data
        with telling_raised(request, [vehicle.pk]):
            changes.change_fitting(
                fitting=fitting,
                changes={name: told[name] for name in ("place", "note", "ports")},
                version=told["version"] or 0,
                today=today(),
                actor=actor_of(request),
                why=told["why"],
            )
            messages.success(request, f"{fitting.component}: feeds recorded.")
        return page_of(vehicle)

    return saved(request, form, act) or form_page(
        request, form, title=f"{fitting.component} on {vehicle}", back=page_of(vehicle),
        crumbs=crumbs_of(vehicle), cautions=WIRING_CAUTIONS,
    )  # fmt: skip


@staff
def fitting_move(request: HttpRequest, pk: int) -> HttpResponse:
    """Move a part to another vehicle; its feeds are recorded next."""
    fitting = fitting_of(request, pk)
    form = MoveForm(request.POST or None, today=today(), fitting=fitting)

    def act() -> str:
        told = form.cleaned_data
        target: Vehicle = told["vehicle"]
        with telling_raised(request, [fitting.vehicle_id, target.pk]):
            moved = changes.move_component(
                fitting=fitting, vehicle=target, on=told["on"], place=told["place"],
                wiring_left_in=told["wiring"] == "yes", why=told["why"],
                today=today(), actor=actor_of(request),
            )  # fmt: skip
            messages.success(
                request,
                f"{fitting.component} is on {target} now. Its history came along, its feeds and "
                "its proof did not: record what it hangs on here.",
            )
        return reverse("desk:fitting_change", args=[moved.pk])

    return saved(request, form, act) or form_page(
        request, form, title=f"Move {fitting.component}", back=page_of(fitting.vehicle),
        crumbs=crumbs_of(fitting.vehicle), cautions=WIRING_CAUTIONS,
    )  # fmt: skip


@staff
def fitting_remove(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a part off its vehicle."""
    fitting = fitting_of(request, pk)
    form = RemoveForm(request.POST or None, today=today())

    def act() -> str:
        told = form.cleaned_data
        with telling_raised(request, [fitting.vehicle_id]):
            changes.remove_component(
                fitting=fitting, until=told["until"], why=told["why"], becomes=told["becomes"],
                wiring_left_in=told["wiring"] == "yes", today=today(), actor=actor_of(request),
            )  # fmt: skip
            messages.success(request, f"{fitting.component} is off {fitting.vehicle}.")
        return page_of(fitting.vehicle)

    return saved(request, form, act) or form_page(
        request, form, title=f"Take {fitting.component} off", back=page_of(fitting.vehicle),
        crumbs=crumbs_of(fitting.vehicle), cautions=WIRING_CAUTIONS[:1],
    )  # fmt: skip
