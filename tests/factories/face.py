"""Invented things to show: the context of every part, and a form with every kind of field."""

from datetime import UTC, date, datetime
from typing import Any

from crispy_forms.helper import FormHelper
from crispy_forms.layout import Button, Column, Div, Fieldset, Layout, Row, Submit
from django import forms
from django.core.paginator import Paginator

from shop.desk.pictures.feed_sheet import build

STATES = ("drive", "tow", "breakaway")


class VehicleForm(forms.Form):
    """Every kind of field once, laid out with every layout object in use."""

    vin = forms.CharField(label="VIN", max_length=17, help_text="17 characters, no I, O or Q.")
    year = forms.IntegerField(label="Year")
    read_on = forms.DateField(
        label="Read on", required=False, widget=forms.DateInput(attrs={"type": "date"})
    )
    drive = forms.ChoiceField(
        label="Drive",
        choices=[("front", "front"), ("rear", "rear")],
        widget=forms.RadioSelect,
        help_text="As the maker says.",
    )
    about = forms.MultipleChoiceField(
        label="Write about",
        required=False,
        choices=[("due", "what is due"), ("bulletin", "bulletins")],
        widget=forms.CheckboxSelectMultiple,
    )
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea)
    agreed = forms.BooleanField(label="The customer said so")
    photo = forms.FileField(label="Photo", required=False)
    version = forms.IntegerField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.helper = FormHelper()
        self.helper.render_hidden_fields = True
        self.helper.layout = Layout(
            Fieldset("What it is", Row("vin", "year", "read_on"), "drive", "about"),
            Div(Column("note"), "agreed", "photo", css_class="rest"),
        )
        self.helper.add_input(Submit("save", "Save the vehicle"))
        self.helper.add_input(Button("leave", "Leave it"))

    def clean_vin(self) -> str:
        if "O" in self.cleaned_data["vin"]:
            raise forms.ValidationError("Character 5 is O; a VIN has the digit 0 there.")
        return self.cleaned_data["vin"]


class PhoneForm(forms.Form):
    number = forms.CharField(label="Number", help_text="As the customer says it.")
    extension = forms.CharField(label="Extension", required=False)


PhoneSet = forms.formset_factory(PhoneForm, extra=1, max_num=4, can_delete=True)


def faulty_form() -> VehicleForm:
    return VehicleForm({"vin": "1M8GO", "year": "last"})


def faulty_phones() -> Any:
    return PhoneSet(
        {
            "form-TOTAL_FORMS": "2",
            "form-INITIAL_FORMS": "1",
            "form-MAX_NUM_FORMS": "4",
            "form-0-extension": "12",
            "form-1-number": "303 555 0142",
        }
    )


BATTERY = {"label": "battery", "sub": "", "words": "", "status": "live", "kind": "source"}
FUSE = {"label": "F08", "sub": "is out", "words": "out, step 5", "status": "dead", "kind": "fuse"}
SUPPLY = {"label": "30", "sub": "?", "words": "assumed", "status": "doubt", "kind": "terminal"}
ANSWERS = [
    ("Brake unit", "supply", "OFF", "OFF", "ON", "bad", [BATTERY, FUSE]),
    ("Stop-lamp relay", "coil", "OFF", "OFF", "OFF", "good", [BATTERY, FUSE]),
    ("Outlet", "", "TIMED", "TIMED, until 20 min after key-off", "ON", "doubt", [BATTERY]),
    ("Transmitter", "", "UNKNOWN", "UNKNOWN", "ON", "doubt", [BATTERY, SUPPLY]),
    ("Horn", "", "ON", "ON", "", "plain", [BATTERY]),
]
KEYS = ("part", "port", "value", "words", "demand", "verdict", "links")


def answers() -> list[dict[str, Any]]:
    return [dict(zip(KEYS, answer, strict=True)) for answer in ANSWERS]


def feeds() -> list[dict[str, Any]]:
    return [
        {
            "part": answer["part"],
            "port": answer["port"],
            "serial": "PB-20417",
            "where": "driver's footwell",
            "states": [answer | {"name": state} for state in STATES],
        }
        for answer in answers()
    ]


def fuse_box() -> dict[str, Any]:
    row = {"blade": "mini", "feeds": "console outlet", "known": True, "tapped": "", "pulled": False}
    return {
        "name": "dash box, left",
        "positions": [
            row | {"id": "F07", "rating": "15 A", "row": 1, "col": 1},
            row | {"id": "F08", "rating": "7.5 A", "row": 1, "col": 2, "pulled": 5, "out": True},
            row | {"id": "F09", "rating": "", "row": 1, "col": 4, "known": False},
            row | {"id": "F21", "rating": "15 A", "row": 2, "col": 1, "tapped": "load"},
        ],
    }


def findings() -> list[dict[str, Any]]:
    return [
        {
            "word": "WARNING",
            "title": "The brake unit has no supply while towed.",
            "why": "Its outlet hangs on F08; the procedure pulls F08 in step 5.",
            "ports": ["Brake unit, supply"],
            "blocks": True,
            "cures": [{"words": "An outlet from F27.", "also": "Nothing else dies.", "url": "#"}],
        },
        {
            "word": "UNKNOWN",
            "title": "Where the transmitter returns to ground.",
            "measure": "ohms to battery negative, disconnect open.",
            "blocks": True,
            "url": "#",
            "label": "Enter the reading",
        },
        {"word": "CAUTION", "title": "Pinch point at the tow-bar arm."},
        {"word": "NOTICE", "title": "The battery is spent after 9 hours."},
    ]


def procedure() -> dict[str, Any]:
    return {
        "verdict": "allowed",
        "steps": [
            {
                "no": 1,
                "words": "Selector to N",
                "caution": {"word": "WARNING", "text": "It rolls."},
            },
            {"no": 5, "words": "Pull fuse F08", "note": "left dash box"},
        ],
        "reverse": [{"no": 1, "words": "Put fuse F08 back"}],
        "limits": ["at most 65 mph"],
        "source": "Owner's book, 2nd edition, page 214",
        "hearsay": True,
    }


def page() -> dict[str, Any]:
    """The context of a page that shows every part."""
    return {
        "crumbs": [{"label": "Desk", "url": "#"}, {"label": "Ines and Paul Okafor", "url": "#"}],
        "tabs": [
            {"label": "Judgement", "url": "#", "current": True},
            {"label": "Fitted", "url": "#", "count": 5},
        ],
        "proof": {"kind": "stale", "lines": ["since 3 Nov 2026", "proof of 14 Mar, rev 2"]},
        "sheet": build(answers(), state="tow"),
        "feeds": feeds(),
        "box": fuse_box(),
        "findings": findings(),
        "procedure": procedure(),
        "dues": [
            {"when": None, "late": True, "title": "Prove again", "why": "rev 3", "url": "#"},
            {"when": date(2026, 12, 14), "late": False, "title": "Battery, load test"},
        ],
        "events": [
            {
                "at": datetime(2026, 11, 3, 16, 20, tzinfo=UTC),
                "who": "Mara Tennant",
                "words": "Procedure revised",
                "changes": [{"what": "step 5", "before": None, "after": "Pull fuse F08"}],
                "why": "new edition",
            }
        ],
        "facts": [
            {"label": "VIN", "value": "1M8GDM9AXKP042788", "figure": True, "wide": True},
            {"label": "Gearbox", "value": ""},
            {"label": "Doors", "value": 0},
        ],
        "page": Paginator(range(90), 25).page(2),
        "form": faulty_form(),
        "formset": faulty_phones(),
    }
