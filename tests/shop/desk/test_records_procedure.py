"""Procedures by form: looked at first, written once, refused with the list of fuses."""

from typing import Any

import pytest
from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from installs.models import Reverification
from shop import changes
from tests.factories.desk import ACTOR, TODAY, a_crestline, okafors
from tests.factories.paper import fill_in, sent_back, words_of
from vehicles.models import Event, ProcedureRevision, Vehicle

SOURCE = {"source_kind": "bulletin", "title": "Bulletin 7", "why": "new bulletin"}


def of_range(vehicle: Vehicle) -> str:
    return reverse("desk:procedure_revise", args=["range", vehicle.model_range_id])


def of_vehicle(vehicle: Vehicle) -> str:
    return reverse("desk:procedure_revise", args=["vehicle", vehicle.pk])


def own_procedure(vehicle: Vehicle) -> ProcedureRevision:
    return ProcedureRevision.objects.current().get(vehicle=vehicle)


def look(client: Client, url: str, **typed: Any) -> HttpResponse:
    return fill_in(client, url, **{**SOURCE, **typed}, look="yes")


def save(client: Client, url: str, looked: HttpResponse) -> HttpResponse:
    return client.post(url, {**sent_back(looked), "save": "yes"})


def shared(vehicle: Vehicle) -> None:
    """Let a range have what its vehicle has, as if entered there."""
    current = ProcedureRevision.objects.in_force_for(vehicle)
    changes.revise_procedure(
        content=current.content, model_range=vehicle.model_range, today=TODAY, actor=ACTOR
    )


def test_the_page_starts_from_the_current_revision_but_not_from_its_source(desk: Client) -> None:
    paper = sent_back(desk.get(of_vehicle(a_crestline())))
    assert paper["steps-4-do"] == ["fuse_out"]
    assert paper["steps-4-fuse"] == ["F08"]
    assert paper["steps-1-detail"] == ["3"]
    assert paper["max_speed_0"] == ["65"]
    assert (paper["source_kind"], paper["title"]) == ([""], [""])


def test_saved_unchanged_only_the_source_differs(desk: Client) -> None:
    one = a_crestline()
    before = ProcedureRevision.objects.in_force_for(one).content
    url = of_vehicle(one)
    save(desk, url, look(desk, url))
    after = own_procedure(one).content
    assert {**after, "source": None} == {**before, "source": None}
    assert after["source"]["title"] == "Bulletin 7"
    assert after["source"]["read_by"] == "Desk"


def test_nothing_is_written_before_its_consequences_were_shown(desk: Client) -> None:
    one = a_crestline(customer=okafors())
    url = of_vehicle(one)
    count, events = ProcedureRevision.objects.count(), Event.objects.count()
    answer = look(desk, url, **{"steps-4-fuse": "F09"})
    assert "Nothing is saved yet: this is whom it concerns" in words_of(answer)
    assert "Ines and Paul Okafor, QZ 4471" in words_of(answer).replace(" ,", ",")
    straight = fill_in(desk, url, **SOURCE, save="yes")
    assert straight.status_code == 200
    changed = desk.post(url, {**sent_back(answer), "steps-4-fuse": "F10", "save": "yes"})
    assert "Nothing is saved yet" in words_of(changed)
    assert (ProcedureRevision.objects.count(), Event.objects.count()) == (count, events)


def test_a_look_names_who_would_have_to_be_proven_again(desk: Client) -> None:
    one, two = a_crestline(), a_crestline(2)
    ProcedureRevision.objects.filter(vehicle__in=[one, two]).update(is_current=False)
    shared(one)
    # Nobody was asked for proof yet, so that this revision is what asks.
    Reverification.objects.update(state="withdrawn")
    url = of_range(one)
    shown = words_of(look(desk, url, **{"steps-4-fuse": "F27"}))
    assert "2 vehicles go by it. 2 must then be proven" in shown
    assert not Reverification.objects.open().exists()
    save(desk, url, look(desk, url, **{"steps-4-fuse": "F27"}))
    assert Reverification.objects.open().count() == 2


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        (
            {"steps-4-fuse": "F99"},
            "Step 5 pulls fuse F99, which is not on the feed map. Fuses there: F05, F06, F07,",
        ),
        ({"steps-4-fuse": ""}, "Step 5 pulls a fuse but does not say which."),
        ({"steps-2-detail": ""}, "Step 3 (gear) does not say which position."),
        ({"steps-1-detail": "soon"}, "“soon” is not a number"),
        ({"steps-1-detail": ""}, "Step 2 (engine_run) needs a number of minutes."),
        ({"steps-5-do": ""}, "Choose what is done in this step, or remove the row."),
        ({"steps-5-after": "9"}, "must come after step 9: no such other step."),
        ({"steps-5-after": "first"}, "Write the numbers of steps"),
        ({"steps-5-no": "1"}, "Step number 1 is used twice."),
        ({"source_kind": ""}, "Where this comes from: This field is required."),
        ({"title": ""}, "Name the document, so that somebody else finds it again."),
        ({"read_on": "2126-01-01"}, "is still to come"),
        ({"max_speed_0": "fast"}, "Top speed: “fast” is not a number"),
        ({"max_speed_0": "900"}, "Top speed: 900.0 must be at most 100."),
    ],
)
def test_what_is_wrong_stands_at_its_field_or_step(
    desk: Client, typed: dict[str, str], sentence: str
) -> None:
    url = of_vehicle(a_crestline())
    count = ProcedureRevision.objects.count()
    answer = look(desk, url, **{"note": "kept", **typed})
    assert sentence in words_of(answer)
    assert "Nothing is saved yet" not in words_of(answer)
    back = sent_back(answer)
    assert back["note"] == ["kept"]
    assert all(back[name] == [value] for name, value in typed.items())
    assert ProcedureRevision.objects.count() == count


def test_a_step_between_two_others_moves_the_rest_along(desk: Client) -> None:
    one = a_crestline()
    url = of_vehicle(one)
    typed = {
        "steps-6-no": "4.5", "steps-6-do": "fuse_out", "steps-6-fuse": "F27",
        "steps-5-after": "5",
    }  # fmt: skip
    save(desk, url, look(desk, url, **typed))
    steps = own_procedure(one).content["steps"]
    assert [(s["no"], s.get("target", "")) for s in steps[3:]] == [
        (4, ""), (5, "F27"), (6, "F08"), (7, ""),
    ]  # fmt: skip
    # It named the step that pulls F08, which is step 6 now.
    assert steps[6]["after"] == [6]


def test_a_revision_written_meanwhile_is_shown_and_not_overwritten(desk: Client) -> None:
    one = a_crestline()
    url = of_vehicle(one)
    looked = look(desk, url, **{"steps-4-fuse": "F09"})
    content = ProcedureRevision.objects.in_force_for(one).content
    changes.revise_procedure(
        content={**content, "note": "Theirs."}, vehicle=one, today=TODAY, actor=ACTOR
    )
    answer = save(desk, url, looked)
    assert "Mara Tennant wrote revision" in words_of(answer)
    assert own_procedure(one).content["note"] == "Theirs."
    again = desk.post(url, {**sent_back(answer), "look": "yes"})
    assert save(desk, url, again).status_code == 302
    assert own_procedure(one).content["steps"][4]["target"] == "F09"


def test_a_double_click_writes_one_revision(desk: Client) -> None:
    url = of_vehicle(a_crestline())
    paper = {**sent_back(look(desk, url)), "save": "yes"}
    count = ProcedureRevision.objects.count()
    assert desk.post(url, paper).status_code == 302
    desk.post(url, paper)
    assert ProcedureRevision.objects.count() == count + 1


def test_the_history_shows_every_revision(technician: Client, desk: Client) -> None:
    one = a_crestline()
    url = of_vehicle(one)
    save(desk, url, look(desk, url))
    shown = words_of(technician.get(reverse("desk:procedure_history", args=["vehicle", one.pk])))
    assert "in force" in shown
    assert "maker's bulletin, Bulletin 7" in shown
    assert technician.get(url).status_code == 404


def test_hearsay_is_kept_as_hearsay(desk: Client) -> None:
    one = a_crestline()
    url = of_vehicle(one)
    saved = save(desk, url, look(desk, url, source_kind="customer_says", title=""))
    assert own_procedure(one).source_kind == "customer_says"
    assert "This is what somebody said" in words_of(desk.get(saved.url))


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"steps-4-text": "Pull F27"}, "Step 5 pulls F08, but its words name “F27”."),
        ({"steps-4-reverse": "Put F27 back"}, "Step 5 pulls F08, but what undoes it names “F27”."),
        ({"steps-4-do": "other", "steps-4-fuse": "", "steps-4-text": "Pull fuse 8"}, "names “8”"),
        ({"steps-4-do": "other", "steps-4-fuse": "", "steps-4-text": "Pull F99"}, "names “F99”"),
    ],
)
def test_words_that_name_another_fuse_are_told_at_the_field(
    desk: Client, typed: dict[str, str], sentence: str
) -> None:
    answer = look(desk, of_vehicle(a_crestline()), **typed)
    assert sentence in words_of(answer)
    assert "Nothing is saved yet" not in words_of(answer)
    assert all(sent_back(answer)[name] == [value] for name, value in typed.items())


def test_spelled_out_words_follow_a_changed_fuse_again_and_again(desk: Client) -> None:
    one = a_crestline()
    url = of_vehicle(one)
    first = look(desk, url, **{"steps-4-fuse": "F09", "steps-4-text": "Pull fuse F08"})
    back = sent_back(first)
    assert (back["steps-4-text"], back["steps-4-reverse"]) == (["Pull fuse F09"], ["Put F09 back"])
    second = desk.post(url, {**back, "steps-4-fuse": "F10", "save": "yes"})
    save(desk, url, second)
    step = own_procedure(one).content["steps"][4]
    assert (step["target"], step["text"], step["reverse"]) == (
        "F10",
        "Pull fuse F10",
        "Put F10 back",
    )
