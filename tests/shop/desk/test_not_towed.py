"""A vehicle that its source forbids to tow on its own wheels: said first, and never proven."""

from django.test import Client
from django.urls import reverse

from installs.models import Reverification, Verification
from tests.factories.desk import TODAY, a_crestline, crestline
from tests.factories.paper import words_of
from vehicles.models import Vehicle

SENTENCE = "Not to be towed on its own wheels (document, Owner's manual, 2nd edition, page 212"


def forbidden() -> Vehicle:
    """A vehicle with parts on it whose manual says no."""
    procedure = {**crestline()["procedure"], "verdict": "not_allowed", "steps": [], "limits": {}}
    vehicle = a_crestline(procedure=procedure)
    Reverification.objects.get_or_create(
        vehicle=vehicle,
        state="open",
        defaults={"cause": "outside_work", "differences": ["x"], "opened_on": TODAY},
    )
    return vehicle


def test_the_page_says_so_at_the_top_and_asks_for_no_proof(technician: Client) -> None:
    one = forbidden()
    page = technician.get(reverse("desk:vehicle", args=[one.pk]))
    words = words_of(page)
    assert SENTENCE in words
    assert words.index(SENTENCE) < words.index("What stands in the way")
    assert "Prove it" not in words
    assert 'aria-label="To be proven' not in page.content.decode()
    assert "Proof in the tow state: Not to be towed on its own wheels" in words


def test_it_is_on_no_list_of_what_has_to_be_proven(desk: Client) -> None:
    one = forbidden()
    for name in ("desk:today", "desk:reverifications", "desk:due"):
        page = words_of(desk.get(reverse(name)))
        assert "to be proven again" not in page
        assert "never proven" not in page
    assert one.plate not in words_of(desk.get(reverse("desk:reverifications")))
    listed = words_of(desk.get(reverse("desk:vehicles"), {"proof": "not_towed"}))
    assert one.plate in listed
    assert "Not to be towed" in listed


def test_there_is_no_form_to_prove_it(technician: Client) -> None:
    one = forbidden()
    url = reverse("desk:prove", args=[one.pk])
    page = technician.get(url)
    assert SENTENCE in words_of(page)
    assert "Sign the proof" not in words_of(page)
    assert 'name="measured_so"' not in page.content.decode()
    sent = technician.post(url, {"measured_so": "on", "proven_on": "2026-11-24"})
    assert SENTENCE in words_of(sent)
    assert not Verification.objects.exists()


def test_a_vehicle_that_may_be_towed_is_told_nothing_of_it(technician: Client) -> None:
    one = a_crestline()
    page = technician.get(reverse("desk:vehicle", args=[one.pk]))
    assert "Not to be towed" not in words_of(page)
    assert "Prove it" in words_of(page)
