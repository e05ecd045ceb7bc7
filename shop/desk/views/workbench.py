"""The workbench: try a wire, a fuse or a battery, and keep the result with a fitted part."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from installs.models import Fitting
from installs.services.parts import note_on_fitting
from shop import changes
from shop.clock import today
from shop.desk.access import staff
from shop.desk.actor import actor_of
from shop.desk.forms.workbench import BENCHES, BenchForm, WireForm, WireRecordForm
from shop.desk.once import only_once
from shop.desk.present import workbench as present
from shop.desk.views.records.common import fitting_of, telling_raised
from vehicles.models import LimitVersion, Vehicle

TITLES = {
    "wire": "A wire",
    "fuse": "A fuse",
    "battery": "A battery",
    "breakaway": "A breakaway battery",
}
# Longer ones are no number of a record, and no database could look for them.
LONGEST_NUMBER = 12


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
    fitting = _fitting(request)
    context = {
        "benches": benches,
        "fitting": fitting,
        "record": WireRecordForm(fitting=fitting) if fitting and fitting.ports else None,
        "here": "workbench",
    }
    return render(request, "desk/workbench.html", context)


def _fitting(request: HttpRequest) -> Fitting | None:
    """Return the part that the result is for, None where the address names none that is seen."""
    number = request.GET.get("fitting", "")
    if not (number.isascii() and number.isdigit() and len(number) <= LONGEST_NUMBER):
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
    again = f"{reverse('desk:workbench')}?fitting={pk}"
    if not lines or form is None:
        messages.error(request, "There is no result to keep: fill in the bench first.")
        return redirect(again)

    def act() -> str:
        text = " ".join(f"{line.what}: {line.words}" for line in lines)
        _keep(request, fitting, form, f"{TITLES[form.name]}, reckoned {today():%d %b %Y}. {text}")
        messages.success(request, f"Kept with {fitting.component}.")
        return reverse("desk:vehicle", args=[fitting.vehicle_id])

    try:
        return redirect(only_once(request, act))
    except ValidationError as error:
        messages.error(request, f"It was not kept: {' '.join(error.messages)}")
        return redirect(again)


def _keep(request: HttpRequest, fitting: Fitting, form: BenchForm, text: str) -> None:
    """Note the result; with a port, record the wire there as well, which is judged anew."""
    choice = WireRecordForm(request.POST, fitting=fitting)
    port = choice.cleaned_data["port"] if choice.is_valid() else ""
    if not port or not isinstance(form, WireForm):
        note_on_fitting(fitting=fitting, text=text, actor=actor_of(request))
        return
    wire = form.record()
    if not wire:
        raise ValidationError("the wire's size and length are needed to record it at a port.")
    with telling_raised(request, [fitting.vehicle_id]):
        changes.change_fitting(
            fitting=fitting,
            changes={
                "ports": {**fitting.ports, port: {**fitting.ports[port], "wire": wire}},
                "note": f"{fitting.note}\n{text}".strip(),
            },
            version=fitting.version,
            today=today(),
            actor=actor_of(request),
            why="reckoned on the workbench",
        )
