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
from vehicles.models import FeedMapRevision, ProcedureRevision

from .common import crumbs_of, in_force, named, page_of, whose_of
from .revising import about, goes_by, looked_or_saved


@keepers
def procedure_revise(request: HttpRequest, whose: str, pk: int) -> HttpResponse:
    """Write the next revision of a range's or a vehicle's tow procedure."""
    owner = whose_of(request, whose, pk)
    current, map_row = in_force(ProcedureRevision, owner), in_force(FeedMapRevision, owner)
    feed_map = FeedMap.from_dict(map_row.content) if map_row else None
    form = ProcedureForm(
        request.POST or None, today=today(), current=current, feed_map=feed_map,
        me=str(request.user),
    )  # fmt: skip

    def revise() -> ProcedureRevision:
        return changes.revise_procedure(
            content=form.content, today=today(), actor=actor_of(request),
            why=form.cleaned_data["why"], note=form.cleaned_data["why"],
            **named(owner),
        )  # fmt: skip

    def done(revision: ProcedureRevision) -> str:
        messages.success(request, f"Revision {revision.number} of the tow procedure is in force.")
        return reverse("desk:procedure_history", args=[whose, pk])

    ids = goes_by(owner, own="procedurerevision")
    answer, look = looked_or_saved(request, form, ids=ids, revise=revise, done=done)
    return answer or form_page(
        request, form, title=f"Tow procedure of {owner}", back=page_of(owner),
        crumbs=crumbs_of(owner), template="desk/records/procedure.html",
        context=about(look, current, owner, ProcedureRevision)
        | {"stands": shown(Procedure.from_dict(current.content)) if current else None},
    )  # fmt: skip


@staff
def procedure_history(request: HttpRequest, whose: str, pk: int) -> HttpResponse:
    """Show every revision, newest first."""
    owner = whose_of(request, whose, pk)
    rows = ProcedureRevision.objects.filter(**named(owner))
    revisions = [(row, shown(Procedure.from_dict(row.content))) for row in rows]
    crumbs = [{"label": label, "url": url} for label, url in crumbs_of(owner)]
    return render(
        request,
        "desk/records/procedure_history.html",
        {"owner": owner, "whose": whose, "revisions": revisions, "crumbs": crumbs},
    )
