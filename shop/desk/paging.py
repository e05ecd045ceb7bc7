"""One page of a long list, without counting or walking what lies before it twice."""

from django.core.paginator import Page, Paginator
from django.db.models import QuerySet
from django.http import HttpRequest

PER_PAGE = 50


def page_of(request: HttpRequest, rows: "QuerySet", per_page: int = PER_PAGE) -> "Page":
    """Return the page that ``?page=`` names; a number that does not exist gives the nearest."""
    return Paginator(rows, per_page).get_page(request.GET.get("page"))
