"""What every answer tells the browser besides what Django and the policy headers already say."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

GetResponse = Callable[[HttpRequest], HttpResponse]


def browser_rules(get_response: GetResponse) -> GetResponse:
    """Keep pages of signed-in people out of every cache, and unused device rights shut."""

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        response.headers.setdefault("Permissions-Policy", "camera=(self), geolocation=()")
        # Static files are answered before `request.user` exists, and may be cached.
        if getattr(request, "user", None) is not None and request.user.is_authenticated:
            response.headers["Cache-Control"] = "no-store"
        return response

    return answer
