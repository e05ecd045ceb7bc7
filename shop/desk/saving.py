"""From a filled-in form to the next page: valid, sent once, its faults back on its fields."""

import logging
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from django.core.exceptions import ValidationError
from django.db import IntegrityError
from django.forms import Form
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render

from vehicles.records import Clash

from .forms.base import RecordForm
from .once import only_once

FORM_PAGE = "desk/records/form.html"
Caution = tuple[str, str, Sequence[str]]
AT_ONCE = (
    "Somebody else saved the same thing at this moment, so nothing of yours was saved. Look what "
    "is there now, and save again."
)
_log = logging.getLogger(__name__)


def saved(
    request: HttpRequest, form: RecordForm, act: Callable[[], str]
) -> HttpResponseRedirect | None:
    """Run `act` (which returns where to go) if the form was sent and is valid.

    None means that the form has to be shown: it was not sent yet, or something is wrong and now
    stands beside its field.
    """
    if request.method != "POST" or not form.is_valid():
        return None
    try:
        return HttpResponseRedirect(only_once(request, act))
    except ValidationError as error:
        form.take_faults(error)
    except Clash as clash:
        form.take_clash(clash.current)
    except IntegrityError as error:
        take_collision(form, error)
    return None


def take_collision(form: Form, error: IntegrityError) -> None:
    """Answer the database's refusal with a sentence; what was typed stays.

    A form and its service look before they write, so only somebody who wrote in between can have
    caused it. The log keeps which constraint it was, should that ever not be so.
    """
    _log.warning("A form met a constraint of the database: %s", error)
    form.add_error(None, AT_ONCE)


def form_page(
    request: HttpRequest,
    form: RecordForm,
    *,
    title: str,
    back: str,
    crumbs: Sequence[tuple[str, str]] = (),
    cautions: Sequence[Caution] = (),
    template: str = FORM_PAGE,
    context: Mapping[str, Any] | None = None,
) -> HttpResponse:
    """Show a form as a page. `back` is the way out; a caution is (word, text, points)."""
    return render(
        request,
        template,
        {
            "form": form,
            "title": title,
            "back": back,
            "crumbs": [{"label": label, "url": url} for label, url in crumbs],
            "cautions": [
                {"word": word, "text": text, "points": points} for word, text, points in cautions
            ],
            **(context or {}),
        },
    )
