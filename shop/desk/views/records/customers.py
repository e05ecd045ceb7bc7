"""Adding and changing customers."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse

from shop import changes
from shop.clock import today
from shop.desk.access import keepers
from shop.desk.actor import actor_of
from shop.desk.forms.customer import ConsentForm, CustomerForm
from shop.desk.saving import form_page, saved
from shop.people import services as people
from shop.people.models import Customer

PAGE = "desk/records/customer.html"


@keepers
def customer_add(request: HttpRequest) -> HttpResponse:
    """Add a customer."""
    form = CustomerForm(request.POST or None, today=today())

    def act() -> str:
        customer = people.add_customer(actor=actor_of(request), reach=form.reach, **form.changes)
        _tell(request, f"{customer} is in the records.", form)
        return reverse("desk:customer", args=[customer.pk])

    done = saved(request, form, act)
    back = reverse("desk:customers")
    return done or form_page(
        request,
        form,
        title="Add a customer",
        back=back,
        template=PAGE,
        crumbs=[("Customers", back)],
    )


@keepers
def customer_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a customer."""
    customer = get_object_or_404(Customer.objects.visible_to(request.user), pk=pk)
    form = CustomerForm(request.POST or None, today=today(), record=customer)
    back = reverse("desk:customer", args=[pk])

    def act() -> str:
        changes.change_customer(
            customer=customer,
            changes=form.changes,
            reach=form.reach,
            version=form.cleaned_data["version"] or 0,
            today=today(),
            actor=actor_of(request),
        )
        _tell(request, "The customer's record is up to date.", form)
        return back

    done = saved(request, form, act)
    return done or form_page(
        request, form, title=f"Change {customer}", back=back, template=PAGE,
        crumbs=[("Customers", reverse("desk:customers")), (str(customer), back)],
    )  # fmt: skip


def _tell(request: HttpRequest, sentence: str, form: CustomerForm) -> None:
    messages.success(request, sentence)
    for note in form.notes():
        messages.warning(request, note)


@keepers
def consent_set(request: HttpRequest, pk: int) -> HttpResponse:
    """Record what a customer said about a category of messages."""
    customer = get_object_or_404(Customer.objects.visible_to(request.user), pk=pk)
    form = ConsentForm(request.POST or None, today=today())
    back = reverse("desk:customer", args=[pk])

    def act() -> str:
        changes.set_consent(
            customer=customer,
            today=today(),
            category=form.cleaned_data["category"],
            allowed=form.cleaned_data["allowed"] == "yes",
            how=form.cleaned_data["how"],
            actor=actor_of(request),
        )
        messages.success(request, f"Noted what {customer} said.")
        return back

    return saved(request, form, act) or form_page(
        request,
        form,
        title=f"May we write to {customer}?",
        back=back,
        crumbs=[("Customers", reverse("desk:customers")), (str(customer), back)],
    )
