"""Units as people want to see them: those of the shop, or a person's own choice.

What was typed stays beside every figure wherever it is shown; this only says in which units the
rest is written.
"""

from typing import Any

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from shop.people.models import User
from shop.people.staff import choose_units

US, METRIC = User.Units.US.value, User.Units.METRIC.value
# The unit of a mass, by system.
MASS = {US: "lb", METRIC: "kg"}


def system_of(user: Any) -> str:
    """Return ``us`` or ``metric`` for a signed-in person: their own choice, else the shop's."""
    return getattr(user, "units", "") or settings.SHOP_UNITS


@require_POST
def choose(request: HttpRequest) -> HttpResponse:
    """Keep what the person wants to see (empty: as the shop), and go back."""
    back = request.POST.get("next", "/")
    if not url_has_allowed_host_and_scheme(back, {request.get_host()}, request.is_secure()):
        back = "/"
    wanted = request.POST.get("units", "")
    if wanted in User.Units.values and isinstance(request.user, User):
        choose_units(user=request.user, units=wanted)
    else:
        messages.error(request, "Choose US customary, metric, or as the shop.")
    return HttpResponseRedirect(back)
