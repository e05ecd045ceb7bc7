"""A page that shows every part, for the browser tests only: an urlconf with its one view."""

from pathlib import Path

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.template import engines
from django.urls import include, path

from shop import theme
from tests.factories import face

PAGE = Path(__file__).with_suffix(".html")


@login_not_required
def every_part(request: HttpRequest) -> HttpResponse:
    """Show every part, signed in or not."""
    messages.success(request, "Saved: fuse F08 is pulled in step 5.")
    template = engines["django"].from_string(PAGE.read_text())
    return HttpResponse(template.render(face.page(), request))


@login_not_required
def nothing(_request: HttpRequest) -> HttpResponse:
    """Somewhere to go to."""
    return HttpResponse("gone there")


urlpatterns = [
    path("theme/", theme.choose, name="theme"),
    path("accounts/", include("allauth.urls")),
    path("elsewhere/", nothing),
    path("desk/", include(([
        path("", every_part, name="today"), path("search/", nothing, name="find"),
    ], "desk"))),
]  # fmt: skip
