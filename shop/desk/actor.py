"""Who is at the keyboard, in the form that the services and the log take."""

from django.http import HttpRequest

from vehicles.records import Actor


def actor_of(request: HttpRequest) -> Actor:
    """Return the signed-in person as the actor of a change."""
    return Actor(str(request.user), request.user.pk)
