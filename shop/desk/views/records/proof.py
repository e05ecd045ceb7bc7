"""Proving a vehicle in its tow state, inspecting parts, and hearing of work done elsewhere."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from installs.domain.looks import DO_NOT_TOW, stops_towing
from installs.domain.wants import wants_of
from installs.models import Check, Inspection, Reverification
from installs.services.judging import Judged, judge_vehicle
from installs.services.signing import wanted_values
from shop import changes
from shop.clock import today
from shop.desk.access import staff
from shop.desk.actor import actor_of
from shop.desk.forms.proof import InspectForm, OutsideWorkForm, ProveForm
from shop.desk.present.procedure import not_towed
from shop.desk.saving import form_page, saved
from vehicles.models import Vehicle

from .common import crumbs_of, page_of, telling_raised, towed_of

BEFORE_TOW_STATE = (
    "WARNING",
    "Before the vehicle is put into its tow state: it can roll, and the brake unit can act.",
    (
        "Chock the wheels; the parking brake is released and the gearbox may be in neutral.",
        "Carry out the procedure in its order. Nobody sits in, stands in front of or reaches into "
        "the vehicle meanwhile.",
    ),
)
BEFORE_PIN = (
    "WARNING",
    "Before the breakaway pin is pulled: the brakes act by themselves, at once.",
    (
        "Keep hands and feet away from pedal, arm and linkage, and say aloud that you pull.",
        "Put the pin back right after the test: with it out the battery runs down.",
    ),
)
AFTERWARDS = (
    "NOTICE",
    "Afterwards undo every step, and check stop, turn and tail lamps and the warning lamps again.",
    (),
)


@staff
def prove(request: HttpRequest, pk: int) -> HttpResponse:
    """Sign a proof of the vehicle as it stands in the records."""
    vehicle = towed_of(request, pk)
    now = judge_vehicle(vehicle)
    if sentence := not_towed(now.sheet.procedure):
        return _forbidden(request, vehicle, sentence)
    form = ProveForm(
        request.POST or None, today=today(), wanted=wanted_values(now), stands=now.fingerprint,
        alive_volts=now.alive_volts,
    )  # fmt: skip

    def act() -> str:
        told = form.cleaned_data
        changes.sign_verification(
            vehicle=vehicle, measured=form.measured, proven_on=told["proven_on"],
            note=told["note"], today=today(), actor=actor_of(request),
            fingerprint=told["fingerprint"],
        )  # fmt: skip
        messages.success(request, f"Proof of {vehicle} signed for {told['proven_on']}.")
        return page_of(vehicle)

    return saved(request, form, act) or form_page(
        request, form, title=f"Prove {vehicle} in its tow state", back=page_of(vehicle),
        crumbs=crumbs_of(vehicle), cautions=(BEFORE_TOW_STATE, BEFORE_PIN, AFTERWARDS),
        template="desk/records/prove.html", context=_stands(vehicle, now),
    )  # fmt: skip


def _forbidden(request: HttpRequest, vehicle: Vehicle, sentence: str) -> HttpResponse:
    """Answer that there is no proof of a vehicle that must not be towed on its own wheels."""
    crumbs = [{"label": label, "url": url} for label, url in crumbs_of(vehicle)]
    told = {"not_towed": sentence, "back": page_of(vehicle), "crumbs": crumbs}
    title = f"No proof of {vehicle}"
    return render(request, "desk/records/not_towed.html", {"title": title, **told})


def _stands(vehicle: Vehicle, now: Judged) -> dict[str, object]:
    """Return what the page says before anything is measured."""
    return {
        "save": "Sign the proof",
        "asked": Reverification.objects.open().filter(vehicle=vehicle).first(),
        "blocking": [finding for finding in now.judgement.findings if finding.blocking],
        "steps": now.sheet.procedure.steps,
        "nothing": not now.sheet.fittings,
    }


@staff
def inspect(request: HttpRequest, pk: int) -> HttpResponse:
    """Record a look at a fitted part, or at the vehicle."""
    vehicle = towed_of(request, pk)
    given = {name: request.GET.get(name) for name in ("fitting", "check")}
    form = InspectForm(request.POST or None, today=today(), vehicle=vehicle, initial=given)

    def act() -> str:
        told = {n: v for n, v in form.cleaned_data.items() if n not in ("version", "once")}
        check: Check = told["check"]
        with telling_raised(request, [pk]):
            look = changes.record_inspection(
                vehicle=vehicle, today=today(), actor=actor_of(request), **told
            )
            messages.success(request, f"{check}: {look.get_result_display()}, {look.done_on}.")
            if sentence := _what_follows(look):
                messages.warning(request, sentence)
        return page_of(vehicle)

    return saved(request, form, act) or form_page(
        request, form, title=f"Inspect {vehicle}", back=page_of(vehicle),
        crumbs=crumbs_of(vehicle), cautions=(BEFORE_PIN,), context=_asked(form),
        template="desk/records/inspect.html",
    )  # fmt: skip


def _what_follows(look: Inspection) -> str:
    """Say what a look that was not good means from now on; "" after a good one."""
    if look.is_good:
        return ""
    if not look.is_bad:
        return "Nothing was tested, so what is due stays due."
    duty = look.component.kind.duty if look.component else ""
    tow = f"{DO_NOT_TOW} " if stops_towing(duty, look.result) else ""
    return f"{tow}It stays among what is found and due at once until the next good look."


def _asked(form: InspectForm) -> dict[str, object]:
    """Return what each check asks for, to be read before the hand goes to the part."""
    chosen = form["check"].value()
    checks = form.offered.exclude(asks="", wants=[])
    if str(chosen or "").isdecimal():
        checks = checks.filter(pk=chosen)
    wanted = [(check, [want.words for want in wants_of(check.wants)]) for check in checks]
    return {"checks": wanted}


@staff
def outside_work(request: HttpRequest, pk: int) -> HttpResponse:
    """Record that brakes or wiring were worked on elsewhere: the proof no longer stands."""
    vehicle = towed_of(request, pk)
    form = OutsideWorkForm(request.POST or None, today=today())

    def act() -> str:
        with telling_raised(request, [pk]):
            changes.report_outside_work(
                vehicle=vehicle, told=form.cleaned_data["told"], today=today(),
                actor=actor_of(request),
            )  # fmt: skip
            messages.success(request, "Noted. The proof does not stand any more.")
        return page_of(vehicle)

    return saved(request, form, act) or form_page(
        request, form, title=f"Work done elsewhere on {vehicle}", back=page_of(vehicle),
        crumbs=crumbs_of(vehicle),
        context={"lead": "Brake or electrical work elsewhere makes the proof stale, whatever it "
                         "changed, until the vehicle is proven again."},
    )  # fmt: skip
