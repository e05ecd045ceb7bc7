"""Light or dark by hand: one cookie, set by a form that needs no script."""

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

YEAR = 365 * 24 * 60 * 60


@login_not_required
@require_POST
def choose(request: HttpRequest) -> HttpResponse:
    """Keep ``theme`` (``light`` or ``dark``; anything else: as the system has it), go back."""
    back = request.POST.get("next", "/")
    if not url_has_allowed_host_and_scheme(back, {request.get_host()}, request.is_secure()):
        back = "/"
    response = HttpResponseRedirect(back)
    wanted = request.POST.get("theme", "")
    if wanted in {"light", "dark"}:
        response.set_cookie(
            "theme", wanted, max_age=YEAR, secure=settings.HTTPS, httponly=True, samesite="Lax"
        )
    else:
        response.delete_cookie("theme", samesite="Lax")
    return response
