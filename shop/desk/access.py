"""Who may open which page. Whoever may not gets the same answer as for a page that is not there."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.http import Http404, HttpRequest
from django.http.response import HttpResponseBase

View = Callable[..., HttpResponseBase]


def _only(allowed: Callable[[Any], bool]) -> Callable[[View], View]:
    """Return a decorator that lets those in for whom `allowed` is true."""

    def decorate(view: View) -> View:
        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
            if not allowed(request.user):
                raise Http404
            return view(request, *args, **kwargs)

        return guarded

    return decorate


def _is_staff(user: Any) -> bool:
    return bool(getattr(user, "is_shop_staff", False))


def _keeps_records(user: Any) -> bool:
    return bool(getattr(user, "may_keep_records", False))


def _is_owner(user: Any) -> bool:
    return bool(getattr(user, "is_owner", False))


staff = _only(_is_staff)
keepers = _only(_keeps_records)
owners = _only(_is_owner)
