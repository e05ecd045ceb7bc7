"""Whether a page in the browser asks for one of its pieces only."""

from django.http import HttpRequest


def swaps(request: HttpRequest, target: str) -> bool:
    """Tell whether the answer goes into the element called `target` of a page that stays."""
    return request.headers.get("HX-Request") == "true" and (
        request.headers.get("HX-Target") == target
    )
