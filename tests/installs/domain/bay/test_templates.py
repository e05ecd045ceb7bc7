"""Step templates: what is wrong with one, and the sheets that the shipped one makes."""

import copy
from typing import Any

import pytest

from installs.domain.bay.compose import Content, Work, compose
from installs.domain.bay.template import Template, shipped_document, template_faults

SHIPPED = Template.from_dict(shipped_document())


def works(*tags: str) -> Content:
    return Content(
        works=tuple(Work(at, "fit", frozenset({tag}), tag) for at, tag in enumerate(tags, start=1)),
        people=(("p1", "Ada"), ("p2", "Ben")),
        facts=frozenset({"proof"}),
    )


def keys(content: Content) -> list[str]:
    return [step.key for step in compose(SHIPPED, content)]


def broken(**changes: Any) -> list[str]:
    """The sentences about the shipped template with its second step changed."""
    document = copy.deepcopy(shipped_document())
    document["steps"][1] |= changes
    return [fault.sentence for fault in template_faults(document)]


def test_the_shipped_template_has_no_fault() -> None:
    assert template_faults(shipped_document()) == []


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"id": "identity_vin"}, "Two steps are called “identity_vin”."),
        ({"after": ["nowhere"]}, "There is no step “nowhere”."),
        ({"after": ["customer_signs"]}, "comes later on the sheet"),
        ({"kind": "number"}, "Say which quantity is measured."),
        ({"kind": "number", "ask": {"quantity": "mass", "unit": "V"}}, "Choose a unit of mass."),
        ({"kind": "timer"}, "how many seconds it must hold"),
        ({"kind": "choice"}, "at least one answer that passes"),
        ({"hold": True, "may_skip": True}, "A hold point cannot be left out."),
        ({"cautions": [{"word": "BEWARE", "text": "hot"}]}, "Use one of DANGER"),
        ({"ask": {"least": 3, "most": 2}}, "The least that passes is above the most."),
        ({"kind": "riddle"}, "riddle"),
    ],
)
def test_a_faulty_template_is_refused_with_a_sentence(
    changes: dict[str, Any], sentence: str
) -> None:
    assert any(sentence in told for told in broken(**changes))


def test_one_job_of_four_parts_is_one_sheet_without_doubles() -> None:
    sheet = keys(works("brake", "breakaway", "stop_lamps", "transmitter"))
    assert len(sheet) == len(set(sheet))
    assert sheet.count("self_test") == 1


def test_order_stands_where_it_protects() -> None:
    """Fuse out before the wire is cut, trial before it is fixed for good; common practice."""
    sheet = keys(works("transmitter", "stop_lamps"))
    for earlier, later in (
        ("stop_fuse_out", "stop_wire_cut"),
        ("stop_wire_cut", "stop_wire_spliced"),
        ("stop_wire_spliced", "stop_fuse_in"),
        ("link_temporary", "link_trial"),
        ("link_trial", "link_for_good"),
        ("fit_check", "stop_fuse_out"),
    ):
        assert sheet.index(earlier) < sheet.index(later)


def test_the_steps_of_one_part_stand_together() -> None:
    sheet = [key for key in keys(works("brake", "transmitter")) if ":w" in key]
    places = [key for key in sheet if key.split(":")[0] in ("place", "entered")]
    assert places == ["place:w1", "entered:w1", "place:w2", "entered:w2"]


def test_each_person_has_lines_of_their_own() -> None:
    sheet = keys(works("brake"))
    assert {"shown_self_test:p1", "shown_self_test:p2"} <= set(sheet)


def test_a_job_without_a_proof_asks_for_no_tow_state() -> None:
    sheet = keys(Content(works=(Work(1, "inspect", frozenset({"brake"}), "unit"),)))
    assert "tow_state_reached" not in sheet
    assert "looked_at:w1" in sheet
