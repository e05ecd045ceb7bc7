"""The one box: find a customer, a vehicle or a part by whatever scrap of it is at hand."""

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse

from shop.desk.access import staff
from shop.desk.swap import swaps
from shop.search.reads import find as search

LONGEST = 100


@staff
def find(request: HttpRequest) -> HttpResponse:
    """Show what ``?q=`` finds; go straight to the one thing that it names."""
    query = request.GET.get("q", "").strip()[:LONGEST]
    found = search(query, request.user)
    context = {"query": query, "found": found, "here": "find"}
    if swaps(request, "found"):
        return render(request, "desk/found.html", context)
    hit = found.only_exact
    if hit is not None and "all" not in request.GET:
        return HttpResponseRedirect(reverse(f"desk:{hit.sort}", args=[hit.pk]))
    return render(request, "desk/find.html", context)
