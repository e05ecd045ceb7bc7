"""A procedure that names what the feed map lacks, as after a correction of the map."""

import pytest

from installs.domain.needs import judge
from installs.domain.sheet import Sheet
from installs.domain.whatif import what_if
from tests.factories.sheets import sheet, step

F21 = {"id": "F21", "feed": "terminal:30", "rating_a": 15}
KEY = step(1, "key", value="off")


def judged(*steps, fuses=(F21,), **parts):
    """Past the check of the sheet: records keep a procedure whose map was corrected."""
    return judge(Sheet.from_dict(sheet(fuses=list(fuses), steps=(KEY, *steps), **parts)))


def test_a_pulled_fuse_that_the_corrected_map_calls_otherwise_blocks():
    """The map now says 21, the part is fed from 21, and the procedure still pulls F21."""
    judgement = judged(
        step(2, "fuse_out", target="F21"),
        fuses=[{**F21, "id": "21"}, {**F21, "id": "22"}],
        ports={"part": ({}, {"feed": "fuse:21"})},
    )
    (finding,) = judgement.findings
    assert finding.title == (
        "Step 2 pulls F21, which is not on the feed map: nobody knows what goes dead with it."
    )
    assert finding.code == "not_on_map"
    assert finding.blocking
    assert finding.is_unknown
    (cure,) = finding.cures
    assert cure.code == "record"
    assert cure.title.endswith("Fuses there: 21, 22.")


@pytest.mark.parametrize(
    ("wrong", "title"),
    [
        (step(2, "gear", value="N", needs_live="fuse:F8"), "Step 2 needs fuse:F8, which is"),
        (step(2, "gear", value="N", needs_live="coach"), "Step 2 needs coach, which is"),
        (
            step(2, "other", text="Close it", target="switch:bypass"),
            "Step 2 names switch:bypass, which is",
        ),
        (step(2, "charge_connect"), "Step 2 connects the coach's charge line, which is"),
    ],
)
def test_every_point_that_a_step_names_must_be_on_the_map(wrong, title):
    (finding,) = judged(wrong).findings
    assert finding.title.startswith(f"{title} not on the feed map: ")
    assert finding.blocking
    assert finding.is_unknown


def test_points_that_are_on_the_map_make_no_finding():
    judgement = judged(
        step(2, "gear", value="N", needs_live="fuse:F21@supply"),
        step(3, "other", text="Look at it", target="fuse:F21"),
        step(4, "other", text="Look", target="the selector"),
        step(5, "charge_connect"),
        step(6, "fuse_out", target="F21"),
        charge_line={"lands": "load_side", "ground": "body"},
    )
    assert judgement.findings == ()


@pytest.mark.parametrize(
    "words", ["Pull F21", "Pull fuse 99", "Take out the lighter fuse", "Remove #21"]
)
def test_a_fuse_that_only_words_pull_blocks(words):
    judgement = judged(
        step(2, "other", text=words),
        ports={"part": ({}, {"feed": "fuse:F21", "known": "measured"})},
    )
    finding = next(f for f in judgement.findings if f.code == "fuse_in_words")
    assert finding.blocking
    assert finding.is_unknown
    touched = "21" in words
    assert (judgement.port("PART", "supply").answers["tow"].value == "UNKNOWN") is touched


def test_a_tap_in_the_slot_of_a_fuse_that_may_be_out_is_unknown():
    judgement = judged(
        step(2, "fuse_out", target="F21", text="Pull F22"),
        ports={"part": ({}, {"feed": "fuse:F21@supply", "in_slot": True, "known": "measured"})},
    )
    assert judgement.port("PART", "supply").answers["tow"].value == "UNKNOWN"


def test_a_toggle_settles_what_words_leave_open():
    whole = Sheet.from_dict(
        sheet(
            fuses=[F21],
            steps=(KEY, step(2, "other", text="Pull F21")),
            ports={"part": ({}, {"feed": "fuse:F21", "known": "measured"})},
        )
    )
    out = what_if(whole, {"fuses": ["F21"]}).judgement.port("PART", "supply")
    assert out.answers["tow"].value == "OFF"
