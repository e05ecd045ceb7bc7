"""Tow procedures: the next revision, and all there have been."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from shop import changes
from shop.clock import today
from shop.desk.access import keepers, staff
from shop.desk.actor import actor_of
from shop.desk.forms.procedure import ProcedureForm
from shop.desk.present.procedure import shown
from shop.desk.saving import form_page
from vehicles.domain.feedmap import FeedMap
from vehicles.domain.procedure import Procedure
from vehicles.models import FeedMapRevision, ModelRange, ProcedureRevision, Vehicle

from .common import crumbs_of, page_of, whose_key, whose_of
from .revising import goes_by, looked_or_saved

Owner = ModelRange | Vehicle


@keepers
def procedure_revise(request: HttpRequest, whose: str, pk: int) -> HttpResponse:
    """Write the next revision of a range's or a vehicle's tow procedure."""
    owner = whose_of(request, whose, pk)
    current, own = _current(owner), _own(owner)
    form = ProcedureForm(
        request.POST or None, today=today(), current=current, feed_map=_feed_map(owner),
        me=str(request.user),
    )  # fmt: skip

    def revise() -> ProcedureRevision:
        return changes.revise_procedure(
            content=form.content, today=today(), actor=actor_of(request),
            why=form.cleaned_data["why"], note=form.cleaned_data["why"],
            **{whose_key(owner): owner},
        )  # fmt: skip

    def done(revision: ProcedureRevision) -> str:
        messages.success(request, f"Revision {revision.number} of the tow procedure is in force.")
        return reverse("desk:procedure_history", args=[whose, pk])

    ids = goes_by(owner, own="procedurerevision")
    answer, look = looked_or_saved(request, form, ids=ids, revise=revise, done=done)
    return answer or form_page(
        request, form, title=f"Tow procedure of {owner}", back=page_of(owner),
        crumbs=crumbs_of(owner), template="desk/records/procedure.html",
        context={
            "look": look,
            "wide": True,
            "current": current,
            "stands": shown(Procedure.from_dict(current.content)) if current else None,
            "inherited": current is not None and current != own,
            "next": own.number + 1 if own else 1,
        },
    )  # fmt: skip


def _current(owner: Owner) -> ProcedureRevision | None:
    """Return what the owner goes by now: a vehicle may go by its range's."""
    rows = ProcedureRevision.objects
    if isinstance(owner, Vehicle):
        return rows.in_force_for(owner)
    return rows.in_force_for_range(owner)


def _own(owner: Owner) -> ProcedureRevision | None:
    return ProcedureRevision.objects.filter(**{whose_key(owner): owner}).first()


def _feed_map(owner: Owner) -> FeedMap | None:
    rows = FeedMapRevision.objects
    vehicle = isinstance(owner, Vehicle)
    current = rows.in_force_for(owner) if vehicle else rows.in_force_for_range(owner)
    return FeedMap.from_dict(current.content) if current else None


@staff
def procedure_history(request: HttpRequest, whose: str, pk: int) -> HttpResponse:
    """Show every revision, newest first."""
    owner = whose_of(request, whose, pk)
    rows = ProcedureRevision.objects.filter(**{whose_key(owner): owner})
    revisions = [(row, shown(Procedure.from_dict(row.content))) for row in rows]
    crumbs = [{"label": label, "url": url} for label, url in crumbs_of(owner)]
    return render(
        request,
        "desk/records/procedure_history.html",
        {"owner": owner, "whose": whose, "revisions": revisions, "crumbs": crumbs},
    )
