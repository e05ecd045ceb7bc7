"""The papers of a part: its label, and the sheet of its inspections."""

from datetime import date
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from installs.models import Component
from tests.factories.installs import ComponentFactory, FittingFactory, InspectionFactory
from tests.factories.pdf import codes_on, painted, words_of_pdf
from tests.factories.reminders import RuleFactory, a_case

pytestmark = pytest.mark.django_db


def paper(client: Client, name: str, component: Component) -> bytes:
    answer = client.get(reverse(f"papers:{name}", args=[component.pk]))
    assert answer.status_code == 200
    return answer.content


def test_a_label_leads_to_its_part_and_says_what_is_next(
    technician: Client, tmp_path: Path
) -> None:
    RuleFactory()
    case = a_case(name="Wren Alder")
    case.refresh(date(2026, 3, 1))
    component = case.fitting.component
    pdf = paper(technician, "label", component)
    (page,) = painted(pdf, tmp_path, 203)  # as coarse as common label printers
    assert codes_on(page) == [f"http://localhost:8000/components/{component.pk}/"]
    due = case.fitting.due_items.get()
    assert f"Due {due.due_on.day} {due.due_on:%b %Y}" in words_of_pdf(pdf)
    assert component.serial in words_of_pdf(pdf)
    assert "Wren" not in words_of_pdf(pdf), "a label is read by whoever looks under the hood"


def test_a_part_of_which_nothing_is_planned_says_so(technician: Client) -> None:
    text = words_of_pdf(paper(technician, "label", ComponentFactory(serial="")))
    assert "Next look: not planned" in text
    assert "no serial recorded" in text


def test_a_sheet_shows_the_values_and_where_they_went(technician: Client) -> None:
    fitting = FittingFactory()
    told: list[tuple[date, str, dict[str, Any]]] = [
        (date(2024, 3, 1), "passed", {"hold time": "18 min"}),
        (date(2025, 3, 1), "passed", {"hold time": "15 min"}),
        (date(2026, 3, 1), "weak", {"hold time": "9 min"}),
    ]
    for day, result, values in told:
        InspectionFactory(fitting=fitting, done_on=day, result=result, values=values)
    text = words_of_pdf(paper(technician, "inspections", fitting.component))
    for word in ("hold time: 18 min", "hold time: 9 min", "weak", "How the values went",
                 "1 March 2026", "Mar 2024", "1 of 1", "Looked at by"):  # fmt: skip
        assert word in text, word


def test_a_part_nobody_looked_at_has_a_sheet_to_fill_in(technician: Client) -> None:
    text = words_of_pdf(paper(technician, "inspections", ComponentFactory()))
    assert "Nobody looked at it yet." in text
    assert "How the values went" not in text
    assert "not recorded" in text


def test_what_does_not_fit_on_the_sheet_is_counted(technician: Client) -> None:
    fitting = FittingFactory()
    for number in range(62):
        InspectionFactory(fitting=fitting, done_on=date(2020, 1, 1 + number % 28))
    text = words_of_pdf(paper(technician, "inspections", fitting.component))
    assert "2 earlier looks stand in the records" in text
    assert "of 3" in text or "of 4" in text


def test_the_page_of_a_part_offers_both(technician: Client) -> None:
    component = ComponentFactory()
    page = technician.get(reverse("desk:component", args=[component.pk])).content.decode()
    for name in ("label", "inspections"):
        assert reverse(f"papers:{name}", args=[component.pk]) in page
