"""What holds for every request: characters that are no text, and what browsers must be told."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

ASK_EACH_TIME = "private, no-cache"
GetResponse = Callable[[HttpRequest], HttpResponse]


def browser_rules(get_response: GetResponse) -> GetResponse:
    """Keep pages of signed-in people out of every cache, and unused device rights shut."""

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        response.headers.setdefault("Permissions-Policy", "camera=(self), geolocation=()")
        # Static files are answered before `request.user` exists, and may be cached.
        known = getattr(request, "user", None) is not None and request.user.is_authenticated
        # A photo may stay in the reader's own browser, which asks again each time it shows it.
        if known and response.headers.get("Cache-Control") != ASK_EACH_TIME:
            response.headers["Cache-Control"] = "no-store"
        return response

    return answer


def only_text(get_response: GetResponse) -> GetResponse:
    """Answer 400 where the address or a posted field holds a NUL: PostgreSQL stores none as text.

    No keyboard writes one. It is refused here and not form by form, for many pages read the
    address without a form.
    """

    def answer(request: HttpRequest) -> HttpResponse:
        for told in (request.GET, request.POST):
            if any("\0" in text for name, values in told.lists() for text in (name, *values)):
                return render(request, "no_text.html", status=400)
        return get_response(request)

    return answer
