"""Feed maps: the next revision of a range's or of one vehicle's."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse

from shop import changes
from shop.clock import today
from shop.desk.access import keepers
from shop.desk.actor import actor_of
from shop.desk.forms.feed_map import FeedMapForm
from shop.desk.saving import form_page
from vehicles.models import FeedMapRevision

from .common import crumbs_of, in_force, named, page_of, whose_of
from .revising import about, goes_by, looked_or_saved


@keepers
def feed_map_revise(request: HttpRequest, whose: str, pk: int) -> HttpResponse:
    """Write the next revision of a feed map."""
    owner = whose_of(request, whose, pk)
    current = in_force(FeedMapRevision, owner)
    form = FeedMapForm(request.POST or None, today=today(), current=current)

    def revise() -> FeedMapRevision:
        return changes.revise_feed_map(
            content=form.content, today=today(), actor=actor_of(request),
            why=form.cleaned_data["why"], note=form.cleaned_data["why"],
            **named(owner),
        )  # fmt: skip

    def done(revision: FeedMapRevision) -> str:
        messages.success(request, f"Revision {revision.number} of the feed map is in force.")
        return page_of(owner)

    ids = goes_by(owner, own="feedmaprevision")
    answer, look = looked_or_saved(request, form, ids=ids, revise=revise, done=done)
    return answer or form_page(
        request, form, title=f"Feed map of {owner}", back=page_of(owner),
        crumbs=crumbs_of(owner), template="desk/records/feed_map.html",
        context=about(look, current, owner, FeedMapRevision),
    )  # fmt: skip
