"""The owner's lists: rules, kinds of part, checks, people."""

from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from installs.models import Check, ComponentKind
from shop.desk.access import owners
from shop.people.models import User
from shop.reminders.models import DueItem, ServiceRule
from shop.reminders.services import sentence
from vehicles.models import LimitVersion

FITTED = Q(components__fittings__until=None, components__fittings__isnull=False)
OPEN_ITEMS = Q(items__state__in=DueItem.OPEN)


@owners
def home(request: HttpRequest) -> HttpResponse:
    """Show what there is to set."""
    counts = {
        "rules": ServiceRule.objects.filter(active=True).count(),
        "kinds": ComponentKind.objects.count(),
        "checks": Check.objects.count(),
        "limits": LimitVersion.objects.current().count(),
        "people": User.objects.filter(is_active=True).count(),
    }
    return render(request, "office/home.html", {"counts": counts})


@owners
def rules(request: HttpRequest) -> HttpResponse:
    """List the rules as sentences, with how many items stand open from each."""
    rows = ServiceRule.objects.select_related("kind", "check_asked")
    rows = rows.annotate(open_items=Count("items", filter=OPEN_ITEMS)).order_by("name")
    return render(request, "office/rules.html", {"rules": [(row, sentence(row)) for row in rows]})


@owners
def kinds(request: HttpRequest) -> HttpResponse:
    """List the kinds of part, with how many are fitted."""
    rows = ComponentKind.objects.annotate(
        fitted=Count("components", filter=FITTED, distinct=True)
    ).order_by("name")
    return render(request, "office/kinds.html", {"kinds": rows})


@owners
def checks(request: HttpRequest) -> HttpResponse:
    """List the named checks, with how often each was done."""
    rows = Check.objects.annotate(done=Count("inspections")).order_by("name")
    return render(request, "office/checks.html", {"checks": rows})


@owners
def people(request: HttpRequest) -> HttpResponse:
    """List the accounts."""
    rows = User.objects.order_by("-is_active", "first_name", "username")
    return render(request, "office/people.html", {"people": rows})
