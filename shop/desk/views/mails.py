"""The outbox as the desk sees it: each mail as it was sent, what became of it, and why."""

from collections.abc import Callable
from typing import Any

from csp.decorators import csp_replace
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.clickjacking import xframe_options_sameorigin
from django.views.decorators.http import require_POST

from shop.clock import now
from shop.desk.access import keepers
from shop.desk.actor import actor_of
from shop.desk.paging import page_of
from shop.outbox.reads import mails_for_a_person, mails_visible_to
from shop.outbox.services import retry_mail, settle_mail

SHOWS = (
    ("", "All"),
    ("person", "For a person"),
    ("queued", "Waiting"),
    ("sent", "Sent"),
    ("withheld", "Not sent"),
)


@keepers
def mails(request: HttpRequest) -> HttpResponse:
    """List the mails, newest first; ``?show=`` narrows them."""
    show = request.GET.get("show", "")
    rows = mails_visible_to(request.user)
    if show == "person":
        rows = mails_for_a_person(request.user)
    elif show in dict(SHOWS) and show:
        rows = rows.filter(state=show)
    rows = rows.defer("text", "html", "headers")
    context = {"page": page_of(request, rows), "show": show, "shows": SHOWS, "here": "mails"}
    return render(request, "desk/mails.html", context)


@keepers
def mail(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one mail as it was or will be sent."""
    found = get_object_or_404(mails_visible_to(request.user), pk=pk)
    context = {
        "mail": found,
        "crumbs": [{"label": "Mails", "url": reverse("desk:mails")}],
        "for_a_person": found.state in ("failed", "unsure") and found.settled_at is None,
    }
    return render(request, "desk/mail.html", context)


@keepers
@xframe_options_sameorigin
@csp_replace(  # type: ignore[arg-type]
    {
        "sandbox": "",
        "default-src": ["'none'"],
        "style-src": ["'unsafe-inline'"],
        "frame-ancestors": ["'self'"],
    }
)
def mail_html(request: HttpRequest, pk: int) -> HttpResponse:
    """Give the HTML part alone, for the frame on the mail's page.

    A mail carries its styles inline, which no page of ours may. So it is served by itself under a
    policy that allows these and nothing else: no script, no network, no form.
    """
    found = get_object_or_404(mails_visible_to(request.user), pk=pk)
    return HttpResponse(found.html)


def _cared_for(
    request: HttpRequest, pk: int, care: Callable[..., Any], said: str
) -> HttpResponseRedirect:
    found = get_object_or_404(mails_visible_to(request.user), pk=pk)
    why = request.POST.get("why", "").strip()[:200]
    try:
        care(mail=found, now=now(), actor=actor_of(request), why=why)
        messages.success(request, said)
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    return HttpResponseRedirect(reverse("desk:mail", args=[pk]))


@keepers
@require_POST
def mail_retry(request: HttpRequest, pk: int) -> HttpResponse:
    """Send a failed or doubtful mail once more."""
    return _cared_for(request, pk, retry_mail, "It waits to be sent once more.")


@keepers
@require_POST
def mail_settle(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a failed or doubtful mail off the list: somebody dealt with it."""
    return _cared_for(request, pk, settle_mail, "Settled: it is off the list for a person.")
