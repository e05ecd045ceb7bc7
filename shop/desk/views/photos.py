"""Photos, given to those who may see them; the browser asks again each time."""

import logging
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404
from django.utils.http import content_disposition_header
from django.views.decorators.http import condition, require_safe

from installs.models import Photo
from installs.services.photos import file_of
from shop.clock import shop_date
from shop.desk.access import staff
from shop.middleware import ASK_EACH_TIME

log = logging.getLogger(__name__)


@staff
@require_safe
def photo(request: HttpRequest, client_id: UUID) -> HttpResponseBase:
    """Give a photo as it is kept."""
    return _given(request, client_id, small=False)


@staff
@require_safe
def photo_small(request: HttpRequest, client_id: UUID) -> HttpResponseBase:
    """Give the small copy of a photo."""
    return _given(request, client_id, small=True)


def _given(request: HttpRequest, client_id: UUID, *, small: bool) -> HttpResponseBase:
    found = get_object_or_404(Photo.objects.visible_to(request.user), client_id=client_id)
    tag = f'"{found.sha256[:32]}{"-small" if small else ""}"'

    @condition(etag_func=lambda _: tag)
    def answer(_: HttpRequest) -> HttpResponse:
        try:
            # Some hundred kilobytes, written by ourselves: no need to hold the file open.
            data = file_of(found, small=small).read_bytes()
        except FileNotFoundError:
            log.exception("The file of photo %s is not where it was put.", found.pk)
            raise Http404 from None
        return HttpResponse(data, content_type="image/jpeg")

    response = answer(request)
    response.headers["Cache-Control"] = ASK_EACH_TIME
    response.headers["Content-Disposition"] = str(content_disposition_header(False, _name(found)))
    response.headers["X-Content-Type-Options"] = "nosniff"
    return response


def _name(found: Photo) -> str:
    """Return the name under which a browser would save it."""
    day = shop_date(found.taken_at or found.received_at)
    words = " ".join(str(found.subject or found.caption or "photo").split())[:80]
    return f"{day} {words}.jpg".replace("/", "-").replace("\\", "-")
