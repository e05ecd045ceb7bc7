"""The owner's forms: kinds of part, checks, accounts."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse

from installs.models import Check, ComponentKind, Fitting
from installs.services import checks as check_services
from installs.services import parts
from shop import changes
from shop.clock import today
from shop.desk.access import owners
from shop.desk.actor import actor_of
from shop.desk.saving import form_page, saved
from shop.desk.views.records.common import telling_raised
from shop.office.forms.kinds import KindForm
from shop.office.forms.people import PersonChangeForm, PersonForm
from shop.office.forms.rules import CheckForm
from shop.people import staff
from shop.people.models import User

OFFICE = "Office"


def crumbs(label: str, name: str) -> list[tuple[str, str]]:
    """Return the way up from a form of the office."""
    return [(OFFICE, reverse("office:home")), (label, reverse(name))]


@owners
def kind_add(request: HttpRequest) -> HttpResponse:
    """Add a kind of part."""
    form = KindForm(request.POST or None, today=today())
    back = reverse("office:kinds")

    def act() -> str:
        kind = parts.add_kind(
            actor=actor_of(request), slug=form.slug, why=form.cleaned_data["why"], **form.columns
        )
        messages.success(request, f"{kind} is in the records.")
        return back

    return saved(request, form, act) or form_page(
        request, form, title="Add a kind of part", back=back, template="office/kind.html",
        crumbs=crumbs("Kinds of part", "office:kinds"), context={"wide": True},
    )  # fmt: skip


@owners
def kind_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change what a kind of part needs; every vehicle that carries one is judged anew."""
    kind = get_object_or_404(ComponentKind, pk=pk)
    form = KindForm(request.POST or None, today=today(), record=kind)
    carrying = Fitting.objects.current().filter(component__kind=kind)
    ids = list(carrying.values_list("vehicle", flat=True).distinct())
    back = reverse("office:kinds")

    def act() -> str:
        with telling_raised(request, ids):
            changes.change_kind(
                kind=kind, changes=form.columns, version=form.cleaned_data["version"] or 0,
                why=form.cleaned_data["why"], today=today(), actor=actor_of(request),
            )  # fmt: skip
            messages.success(request, f"{kind} is up to date.")
        return back

    many = "1 vehicle carries" if len(ids) == 1 else f"{len(ids)} vehicles carry"
    return saved(request, form, act) or form_page(
        request, form, title=f"Change {kind}", back=back, template="office/kind.html",
        crumbs=crumbs("Kinds of part", "office:kinds"),
        context={"wide": True, "lead": f"{many} one. Saving judges them anew."},
    )  # fmt: skip


@owners
def check_add(request: HttpRequest) -> HttpResponse:
    """Add a named check."""
    form = CheckForm(request.POST or None, today=today())
    back = reverse("office:checks")

    def act() -> str:
        name = form.cleaned_data["name"]
        made = check_services.add_check(
            slug=form.slug, name=name, asks=form.cleaned_data["asks"],
            wants=form.cleaned_data["wants"], actor=actor_of(request),
        )  # fmt: skip
        messages.success(request, f"{made} is in the records.")
        return back

    return saved(request, form, act) or form_page(
        request, form, title="Add a check", back=back, crumbs=crumbs("Checks", "office:checks")
    )


@owners
def check_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change what a check is called or asks for."""
    check = get_object_or_404(Check, pk=pk)
    form = CheckForm(request.POST or None, today=today(), record=check)
    back = reverse("office:checks")

    def act() -> str:
        told = form.cleaned_data
        check_services.change_check(
            check=check, name=told["name"], asks=told["asks"], wants=told["wants"],
            actor=actor_of(request),
        )  # fmt: skip
        messages.success(request, "The check is up to date.")
        return back

    return saved(request, form, act) or form_page(
        request, form, title=f"Change {check}", back=back, crumbs=crumbs("Checks", "office:checks")
    )


@owners
def person_add(request: HttpRequest) -> HttpResponse:
    """Give somebody an account."""
    form = PersonForm(request.POST or None, today=today())
    back = reverse("office:people")

    def act() -> str:
        told = form.cleaned_data
        user = staff.add_user(
            username=told["username"], name=told["name"], email=told["email"], role=told["role"],
            password=told["password"] or None, actor=actor_of(request),
        )  # fmt: skip
        messages.success(request, f"{user} can sign in as {user.get_role_display()}.")
        return back

    return saved(request, form, act) or form_page(
        request, form, title="Give an account", back=back, crumbs=crumbs("People", "office:people")
    )


@owners
def person_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change somebody's role, address, or whether they may sign in."""
    user = get_object_or_404(User, pk=pk)
    form = PersonChangeForm(request.POST or None, today=today(), record=user)
    back = reverse("office:people")

    def act() -> str:
        staff.change_user(
            user=user, changes=form.columns, why=form.cleaned_data["why"], actor=actor_of(request)
        )
        messages.success(request, f"The account of {user} is up to date.")
        return back

    return saved(request, form, act) or form_page(
        request, form, title=f"Account of {user}", back=back,
        crumbs=crumbs("People", "office:people"),
    )  # fmt: skip
