"""Two people at the same moment: what slips past the look beforehand is told, not broken."""

from typing import Any

import pytest
from django.db import models
from django.test import Client
from django.urls import reverse

from installs.models import Check, Component, ComponentKind
from tests.factories.desk import ACTOR, a_crestline
from tests.factories.paper import fill_in, sent_back, words_of
from vehicles.models import ModelRange, ProcedureRevision
from vehicles.services import add_model_range

AT_ONCE = "Somebody else saved the same thing at this moment, so nothing of yours was saved."


def let_in_between(monkeypatch: pytest.MonkeyPatch, model: type[models.Model], write: Any) -> None:
    """Let somebody else write after `model` was looked at and before it is saved."""

    def looked_too_early(*_: Any, **__: Any) -> None:
        monkeypatch.undo()
        write()

    monkeypatch.setattr(model, "full_clean", looked_too_early)


def test_two_model_ranges_at_once(desk: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    same = {"make": "Alder", "model": "Crestline", "year_from": 2018, "year_to": 2021}
    url = reverse("desk:range_add")
    paper = sent_back(desk.get(url)) | {name: str(value) for name, value in same.items()}
    let_in_between(monkeypatch, ModelRange, lambda: add_model_range(actor=ACTOR, **same))
    answer = desk.post(url, paper)
    assert AT_ONCE in words_of(answer)
    assert sent_back(answer)["model"] == ["Crestline"]


def test_two_parts_of_one_serial_at_once(desk: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    kind = ComponentKind.objects.create(slug="transmitter", name="Transmitter")
    url = reverse("desk:component_add")
    paper = sent_back(desk.get(url)) | {"kind": str(kind.pk), "serial": "T-1", "lot": "kept"}
    let_in_between(
        monkeypatch, Component, lambda: Component.objects.create(kind=kind, serial="T-1")
    )
    answer = desk.post(url, paper)
    assert AT_ONCE in words_of(answer)
    assert sent_back(answer)["lot"] == ["kept"]


def test_two_checks_of_one_name_at_once(owner: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    url = reverse("office:check_add")
    paper = sent_back(owner.get(url)) | {"name": "Pin test", "asks": "kept"}
    let_in_between(
        monkeypatch, Check, lambda: Check.objects.create(slug="pin_test", name="Pin test")
    )
    answer = owner.post(url, paper)
    assert AT_ONCE in words_of(answer)
    assert sent_back(answer)["asks"] == ["kept"]


def test_two_revisions_at_once(desk: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    one = a_crestline()
    url = reverse("desk:procedure_revise", args=["vehicle", one.pk])
    told = {"source_kind": "bulletin", "title": "Bulletin 7", "why": "new bulletin"}
    looked = fill_in(desk, url, **told, look="yes")
    before = ProcedureRevision.objects.count()

    def both_have_the_next_number(**_: Any) -> None:
        current = ProcedureRevision.objects.in_force_for(one)
        ProcedureRevision.objects.create(
            vehicle=current.vehicle, model_range=current.model_range, number=current.number,
            content=current.content, written_by="Somebody", is_current=False,
        )  # fmt: skip

    monkeypatch.setattr("shop.changes.revise_procedure", both_have_the_next_number)
    answer = desk.post(url, {**sent_back(looked), "save": "yes"})
    assert AT_ONCE in words_of(answer)
    assert sent_back(answer)["title"] == ["Bulletin 7"]
    assert ProcedureRevision.objects.count() == before
