"""The page behind the link in every reminder, where its reader can stop them.

Looking changes nothing: mail filters open every link. Only a POST acts, by the buttons of the page
or by a mail program's own button (RFC 8058, which sends no cookie and follows no redirect, so
neither is asked for).
"""

from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.template.loader import get_template
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods

from shop.clock import today
from shop.people.models import Category, Customer

from .services.optout import opt_out, opt_out_address, sharing
from .services.tokens import StopToken, fingerprint_of, read_stop_token

ONE_CLICK = "by the mail program's own button"
ON_THE_PAGE = "on the page behind the link in the mail"


@login_not_required
@csrf_exempt
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def stop(request: HttpRequest, token: str) -> HttpResponse:
    """Show what can be stopped, or stop it. A token that is not ours is a 404."""
    read = read_stop_token(token)
    customer = Customer.objects.filter(pk=read.customer_id).first() if read else None
    if read is None or customer is None:
        raise Http404
    if request.method == "POST" and request.POST.get("List-Unsubscribe") == "One-Click":
        opt_out(customer=customer, category=read.category, how=ONE_CLICK, today=today())
        return HttpResponse("Done.\n", content_type="text/plain")
    stopped = request.method == "POST" and _act(request, read, customer)
    return HttpResponse(_page(read, customer, stopped=stopped, asked=request.method == "POST"))


def _act(request: HttpRequest, read: StopToken, customer: Customer) -> bool:
    """Do what the form says; False where it says nothing that can be done here."""
    address = _address(read, customer)
    choice = request.POST.get("who", "")
    if read.category == Category.SAFETY:
        return False
    if choice == "address" and address:
        opt_out_address(address=address, category=read.category, how=ON_THE_PAGE, today=today())
        return True
    for person in _people(address, customer):
        if choice == str(person.pk):
            opt_out(customer=person, category=read.category, how=ON_THE_PAGE, today=today())
            return True
    return False


def _address(read: StopToken, customer: Customer) -> str:
    """Return the address that the mail went to, as long as it is on the customer's file."""
    for email in customer.emails.all():
        if fingerprint_of(email.address) == read.fingerprint:
            return email.address
    return ""


def _people(address: str, customer: Customer) -> list[Customer]:
    """Return whose messages the reader of this address may stop: the customer's own first."""
    others = sharing(address).exclude(pk=customer.pk) if address else ()
    return [customer, *others]


def _page(read: StopToken, customer: Customer, *, stopped: bool, asked: bool) -> str:
    address = _address(read, customer)
    context = {
        "category": Category(read.category).label,
        "safety": read.category == Category.SAFETY,
        "address": address,
        "people": _people(address, customer),
        "stopped": stopped,
        "nothing_chosen": asked and not stopped,
    }
    # Rendered without the request: no session is opened and no cookie set for a stranger.
    return get_template("stop/page.html").render(context)
