"""The form pack: labels, help and errors that belong to their fields, layouts, rows."""

import re
from typing import Any

import pytest
from crispy_forms.bootstrap import InlineCheckboxes, InlineRadios
from crispy_forms.layout import Layout
from crispy_forms.utils import render_crispy_form
from django import forms
from django.template import engines
from django.template.loader import render_to_string

from tests.factories.face import PhoneSet, VehicleForm, faulty_form, faulty_phones


def drawn(source: str, **context: Any) -> str:
    source = "{% load crispy_forms_tags %}" + source
    return engines["django"].from_string(source).render(context)


@pytest.fixture(params=["whole", "filter"])
def html(request: pytest.FixtureRequest) -> str:
    """A form with faults, once by the tag and once by the filter."""
    form = faulty_form()
    if request.param == "whole":
        return render_crispy_form(form, form.helper, {"csrf_token": "token"})
    return drawn("{{ form|crispy }}", form=form)


def test_every_description_that_a_field_names_is_there(html: str) -> None:
    named = {
        name for names in re.findall(r'aria-describedby="([^"]+)"', html) for name in names.split()
    }
    assert {"id_vin_helptext", "id_vin_error", "id_drive_helptext", "id_drive_error"} <= named
    assert named <= set(re.findall(r'\bid="([^"]+)"', html))


def test_the_error_stands_in_words_beside_its_field(html: str) -> None:
    beside = html.split('id="id_vin_error"')[1].split("</div>", maxsplit=1)[0]
    assert "Character 5 is O; a VIN has the digit 0 there." in beside
    assert "Error: " in beside


def test_what_was_typed_is_kept(html: str) -> None:
    assert 'value="1M8GO"' in html
    assert 'value="last"' in html


def test_the_summary_leads_to_every_fault(html: str) -> None:
    summary = html.split('class="faults"')[1].split("</ul>", maxsplit=1)[0]
    targets = re.findall(r'<a href="#([^"]+)"', summary)
    assert targets == ["id_vin", "id_year", "id_drive", "id_agreed"]
    assert set(targets) <= set(re.findall(r'\bid="([^"]+)"', html))


def test_required_is_said_and_optional_is_not(html: str) -> None:
    assert re.search(r"VIN\s*<span class=\"must\">\(required\)", html)
    assert not re.search(r"Note\s*<span class=\"must\">", html)


def test_groups_of_options_are_fieldsets_with_a_legend(html: str) -> None:
    for label in ("Drive", "Write about"):
        assert re.search(rf"<fieldset class=\"field[^>]*>\s*<legend[^>]*>{label}", html)


def test_every_label_names_a_field(html: str) -> None:
    assert set(re.findall(r'<label[^>]* for="([^"]+)"', html)) <= set(
        re.findall(r'\bid="([^"]+)"', html)
    )


def test_the_tag_draws_form_token_and_buttons() -> None:
    form = VehicleForm()
    html = render_crispy_form(form, form.helper, {"csrf_token": "token"})
    assert re.search(r"<form [^>]*method=\"post\"[^>]*class=\"form\"", html)
    assert 'enctype="multipart/form-data"' in html
    assert 'name="csrfmiddlewaretoken"' in html
    assert re.search(r"<button type=\"submit\" [^>]*class=\"do\"[^>]*>Save the vehicle", html)
    assert re.search(r"<button type=\"button\" [^>]*class=\"do quiet\"[^>]*>Leave it", html)
    assert 'class="faults"' not in html


def test_a_layout_draws_each_field_once() -> None:
    form = VehicleForm()
    html = render_crispy_form(form, form.helper, {"csrf_token": "token"})
    for name in form.fields:
        if name not in {"drive", "about"}:
            assert html.count(f'name="{name}"') == 1, name
    assert html.count("<legend>What it is</legend>") == 1
    assert 'class="inputs' in html
    assert 'class="stack rest"' in html


def test_no_form_tag_where_the_page_brings_its_own() -> None:
    form = VehicleForm()
    form.helper.form_tag = False
    assert "<form" not in render_crispy_form(form, form.helper, {"csrf_token": "token"})


def test_a_fault_of_the_whole_form_is_in_the_summary() -> None:
    form = VehicleForm({})
    form.add_error(None, "Somebody else changed this record.")
    assert "<li>Somebody else changed this record.</li>" in drawn("{{ form|crispy }}", form=form)


def test_typed_text_and_errors_stay_text() -> None:
    form = VehicleForm({"vin": '"><script>O'})
    form.add_error("year", "<b>no</b>")
    html = drawn("{{ form|crispy }}", form=form)
    assert "<script>" not in html
    assert "<b>no</b>" not in html


@pytest.fixture(params=["part", "filter", "whole"])
def rows(request: pytest.FixtureRequest) -> str:
    formset = faulty_phones()
    if request.param == "part":
        return render_to_string("parts/formset.html", {"formset": formset, "row_name": "Phone"})
    source = "{{ formset|crispy }}" if request.param == "filter" else "{% crispy formset %}"
    return drawn(source, formset=formset, row_name="Phone", csrf_token="token")


def test_rows_work_without_scripts(rows: str) -> None:
    """Management data, the row that is there and an empty one, a box to remove, no bare button."""
    before = rows.split("<template", maxsplit=1)[0]
    assert 'name="form-TOTAL_FORMS" value="2"' in before
    assert 'name="form-0-number"' in before
    assert 'name="form-1-number"' in before
    assert 'name="form-0-DELETE"' in before
    assert re.search(r"<button type=\"button\"[^>]*data-add-row hidden>", rows)


def test_the_pattern_for_more_rows_is_not_sent(rows: str) -> None:
    pattern = rows.split("<template data-row>")[1].split("</template>", maxsplit=1)[0]
    assert 'name="form-__prefix__-number"' in pattern
    assert "form-__prefix__" not in rows.replace(pattern, "")


def test_a_fault_in_a_row_is_named_by_its_row(rows: str) -> None:
    summary = rows.split('class="faults"')[1].split("</ul>", maxsplit=1)[0]
    assert re.findall(r'<a href="#([^"]+)"', summary) == ["id_form-0-number"]
    assert " 1, Number: This field is required." in summary


def test_rows_on_a_page_do_not_repeat_the_faults_of_its_form() -> None:
    context = {"formset": PhoneSet(), "form": faulty_form()}
    assert 'class="faults"' not in render_to_string("parts/formset.html", context)
    source = "{% load crispy_forms_tags %}{{ form|crispy }}"
    html = (
        engines["django"]
        .from_string(source)
        .render({"form": VehicleForm(), "formset": faulty_phones()})
    )
    assert 'class="faults"' not in html


def test_a_unit_stands_beside_its_number() -> None:
    class Weight(forms.Form):
        weight = forms.DecimalField(label="Weight")

    source = '{% load crispy_forms_field %}{% crispy_addon form.weight append="kg" %}'
    html = drawn(source, form=Weight())
    assert re.search(r"<input type=\"number\"[^>]*><span>kg</span>", html)


def test_options_side_by_side() -> None:
    form = VehicleForm()
    form.helper.layout = Layout(InlineRadios("drive"), InlineCheckboxes("about"))
    html = render_crispy_form(form, form.helper, {"csrf_token": "token"})
    assert html.count('class="choices across"') == 2
