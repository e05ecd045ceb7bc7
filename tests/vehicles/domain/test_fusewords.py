"""Fuses in sentences: every usual spelling is read, and what is no fuse raises no alarm."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vehicles.domain.fusewords import named_fuses

LABELS = ("F05", "F08", "F12", "F15", "12A", "15", "RADIO", "D4", "C4", "CIG LTR", "5", "2", "4L")


def named(text: str, labels: tuple[str, ...] = LABELS) -> list[tuple[str, ...]]:
    return [found.fuses for found in named_fuses(text, labels)]


SPELLINGS = (
    "fuse 12", "Fuse F12", "F12", "f12", "F-12", "F 12", "#12", "no. 12", "No 12", "nr. 12",
    "number 12", "fuse no. 12", "fuse #12", "fuse number 12", "fuse position 12", "fuse (12)",
    "the F12 fuse", "the no. 12 fuse", "fuse “F12”", "fuse F012",
)  # fmt: skip


@pytest.mark.parametrize("spelled", SPELLINGS)
@pytest.mark.parametrize("sentence", ["Pull {}", "Remove {}.", "First take out {} and keep it"])
def test_each_usual_spelling_is_read(spelled, sentence):
    assert named(sentence.format(spelled)) == [("F12",)]


@pytest.mark.parametrize(
    ("text", "fuses"),
    [
        ("Remove fuses F5, F8 & F15", [("F05", "5"), ("F08",), ("F15",)]),
        ("Pull nos. 12 and 15", [("F12",), ("15",)]),
        ("Pull both 12 and 15", [("F12",), ("15",)]),
        ("Pull fuse F12 (15 A) and fuse F15 (10 A)", [("F12",), ("F15",)]),
        ("Wait 5 minutes, then pull F99", [()]),
        ("Pull fuse 99", [()]),
        ("Pull #99", [()]),
        ("FUSE 12 OUT", [("F12",)]),
        ("Pull RADIO", [("RADIO",)]),
        ("Pull the radio fuse", [("RADIO",)]),
        ("Pull the CIG LTR fuse", [("CIG LTR",)]),
        ("Fuse 12A", [("12A",)]),
        ("Pull the fuse D4", [("D4",)]),
        ("Pull F12, not F15", [("F12",)]),
        ("Do not drive until F12 is back", [("F12",)]),
        ("Leave F12 out", [("F12",)]),
        ("Pull the lighter fuse", [()]),
        ("Remove the yellow 20 A fuse", [()]),
    ],
)
def test_lists_labels_that_are_words_and_fuses_off_the_map(text, fuses):
    assert named(text) == fuses


@pytest.mark.parametrize(
    "text",
    [
        "Wait 5 minutes", "15 amp", "2 turns", "gear 2", "Turn the knob 2 turns", "Shift to 2",
        "Engage gear 12", "Put selector in D4", "Put the transfer case in 4L", "Key in position 2",
        "Hold the button for 5 s", "Drive 2 miles", "At least 12 V at the post", "Repeat 5 times",
        "See page 12", "Step 5", "Remove bolt #12", "Tighten bolt no. 12", "Relay F12",
        "Remove the no. 2 spark plug", "Remove the fuse box cover", "Open the fuse box",
        "Turn the radio off", "Turn RADIO off", "Attach the F150 tow bar", "Do not pull F12",
        "Leave F12 in", "Look at the lamp beside fuse F12", "no 12 V present", "Below 40F",
        "Set the parking brake before unhooking", "Put 2 wedges under the wheels",
        "F08 stays in from now on",
    ],
)  # fmt: skip
def test_what_is_no_fuse_raises_no_alarm(text):
    assert named(text) == []


def test_a_name_that_a_relay_has_too_is_a_fuse_only_where_the_word_stands_beside_it():
    others = frozenset({"K2"})
    assert named_fuses("Look at K2", ("K2",), others) == ()
    assert [n.fuses for n in named_fuses("Look at fuse K2", ("K2",), others)] == [("K2",)]


@given(st.integers(1, 99), st.sampled_from(SPELLINGS))
def test_any_number_is_read_alike_and_never_taken_for_its_neighbour(number, spelled):
    """Neither 1 in 11 nor 12 in 120: with two fuses on the map the right one is meant."""
    labels = (f"F{number:02}", f"F{number + 1:02}", f"F{number}0")
    found = named(f"Pull {spelled.replace('12', str(number))}", labels)
    assert found == [(labels[0],)]


UNITS = ("minutes", "min", "seconds", "A", "amp", "amps", "V", "turns", "miles", "mph", "times")


@given(st.integers(0, 99), st.sampled_from(UNITS), st.sampled_from(["Wait {}", "Pull it {}", "{}"]))
def test_a_number_with_a_unit_is_no_fuse_even_where_the_map_has_it(number, unit, sentence):
    assert named(sentence.format(f"{number} {unit}"), (str(number), f"F{number}")) == []


@given(st.text(max_size=80), st.lists(st.text("AF125 -", min_size=1, max_size=6), max_size=4))
def test_any_text_and_any_labels_are_read_without_an_error(text, labels):
    for found in named_fuses(text, tuple(labels)):
        assert found.spelled
        assert set(found.fuses) <= set(labels)
