"""Feed maps: the next revision of a range's or of one vehicle's."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse

from shop import changes
from shop.clock import today
from shop.desk.access import keepers
from shop.desk.actor import actor_of
from shop.desk.forms.feed_map import FeedMapForm
from shop.desk.saving import form_page
from vehicles.models import FeedMapRevision, ModelRange, Vehicle

from .common import crumbs_of, page_of, whose_key, whose_of
from .revising import goes_by, looked_or_saved


@keepers
def feed_map_revise(request: HttpRequest, whose: str, pk: int) -> HttpResponse:
    """Write the next revision of a feed map."""
    owner = whose_of(request, whose, pk)
    current = _current(owner)
    own = FeedMapRevision.objects.filter(**{whose_key(owner): owner}).first()
    form = FeedMapForm(request.POST or None, today=today(), current=current)

    def revise() -> FeedMapRevision:
        return changes.revise_feed_map(
            content=form.content, today=today(), actor=actor_of(request),
            why=form.cleaned_data["why"], note=form.cleaned_data["why"],
            **{whose_key(owner): owner},
        )  # fmt: skip

    def done(revision: FeedMapRevision) -> str:
        messages.success(request, f"Revision {revision.number} of the feed map is in force.")
        return page_of(owner)

    ids = goes_by(owner, own="feedmaprevision")
    answer, look = looked_or_saved(request, form, ids=ids, revise=revise, done=done)
    return answer or form_page(
        request, form, title=f"Feed map of {owner}", back=page_of(owner),
        crumbs=crumbs_of(owner), template="desk/records/feed_map.html",
        context={
            "look": look,
            "wide": True,
            "current": current,
            "inherited": current is not None and current != own,
            "next": own.number + 1 if own else 1,
        },
    )  # fmt: skip


def _current(owner: ModelRange | Vehicle) -> FeedMapRevision | None:
    rows = FeedMapRevision.objects
    if isinstance(owner, Vehicle):
        return rows.in_force_for(owner)
    return rows.in_force_for_range(owner)
