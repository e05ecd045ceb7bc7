"""The workbench: try a wire, a fuse or a battery, and keep the result with a fitted part."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from installs.models import Fitting
from installs.services.parts import note_on_fitting
from shop.clock import today
from shop.desk.access import staff
from shop.desk.actor import actor_of
from shop.desk.forms.workbench import BENCHES, BenchForm
from shop.desk.present import workbench as present
from shop.desk.views.records.common import fitting_of
from vehicles.models import LimitVersion, Vehicle

TITLES = {"wire": "A wire", "fuse": "A fuse", "battery": "A battery"}


@staff
def workbench(request: HttpRequest) -> HttpResponse:
    """Show the three benches; ``?try=`` says which one was filled in, ``?fitting=`` for what."""
    limits = LimitVersion.objects.in_force()
    chosen = request.GET.get("try", "")
    benches = []
    for made in BENCHES:
        form = made(request.GET if chosen == made.name else None)
        lines = present.lines_of(form, limits) if form.is_bound else []
        benches.append({"form": form, "title": TITLES[form.name], "lines": lines})
    context = {
        "benches": benches,
        "chosen": chosen,
        "fitting": _fitting(request),
        "query": request.GET.urlencode(),
        "here": "workbench",
    }
    return render(request, "desk/workbench.html", context)


def _fitting(request: HttpRequest) -> Fitting | None:
    """Return the part that the result is for, None where the address names none that is seen."""
    number = request.GET.get("fitting", "")
    if not (number.isascii() and number.isdigit()):
        return None
    rows = Fitting.objects.current().filter(
        pk=int(number), vehicle__in=Vehicle.objects.visible_to(request.user)
    )
    return rows.select_related("component__kind", "vehicle").first()


@staff
@require_POST
def attach(request: HttpRequest, pk: int) -> HttpResponse:
    """Keep a result with a fitted part: it is worked out again from what was typed."""
    fitting = fitting_of(request, pk)
    found = next((made for made in BENCHES if made.name == request.POST.get("try")), None)
    form: BenchForm | None = found(request.POST) if found else None
    lines = present.lines_of(form, LimitVersion.objects.in_force()) if form else []
    if not lines or form is None:
        messages.error(request, "There is no result to keep: fill in the bench first.")
        return redirect(f"{reverse('desk:workbench')}?fitting={pk}")
    said = " ".join(f"{line.what}: {line.words}" for line in lines)
    told: dict[str, Any] = {"text": f"{TITLES[form.name]}, reckoned {today():%d %b %Y}. {said}"}
    note_on_fitting(fitting=fitting, actor=actor_of(request), **told)
    messages.success(request, f"Kept with {fitting.component}.")
    return redirect(reverse("desk:vehicle", args=[fitting.vehicle_id]))
