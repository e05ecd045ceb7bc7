"""A form that is sent twice acts once: the second sending is led to what the first one made."""

import hashlib
from collections.abc import Callable

from django.contrib.sessions.models import Session
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.http import HttpRequest

RECENT = "sent_forms"
KEPT = 20
# Not part of what a person entered: the token changes with every page that is shown.
NOT_COMPARED = {"csrfmiddlewaretoken"}


def only_once(request: HttpRequest, act: Callable[[], str]) -> str:
    """Run `act` in a transaction and return the address that it returns.

    Where this session sent the very same form before (same hidden `once`, same values, same
    files), `act` is not run and the address of the first time is returned. The session's row is
    locked meanwhile: a double click is two requests at the same moment, and the second one must
    wait to see what the first one made. A form brought back with the browser's Back button and
    sent with other values, or with another file, is a new one.
    """
    mark = _mark(request)
    with transaction.atomic():
        rows = Session.objects.select_for_update()
        held = rows.filter(session_key=request.session.session_key).first()
        recent = held.get_decoded().get(RECENT, {}) if held else {}
        if mark in recent:
            return str(recent[mark])
        url = act()
        request.session[RECENT] = dict([*recent.items(), (mark, url)][-KEPT:])
        request.session.save()
        return url


def _mark(request: HttpRequest) -> str:
    entered = sorted(
        (name, tuple(values)) for name, values in request.POST.lists() if name not in NOT_COMPARED
    )
    files = sorted((name, _content(file)) for name, held in request.FILES.lists() for file in held)
    return hashlib.sha256(repr((request.path, entered, files)).encode()).hexdigest()


def _content(file: UploadedFile) -> str:
    """Return a mark of what is in a file: two sheets may well have the same name and size."""
    digest = hashlib.sha256()
    for chunk in file.chunks():
        digest.update(chunk)
    return digest.hexdigest()
