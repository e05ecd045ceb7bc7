"""A step's words against the fuse it pulls: what is refused, and what it leaves unknown."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.factories.sheets import feed_map, procedure, step
from vehicles.domain.answers import Value
from vehicles.domain.feedmap import FeedMap
from vehicles.domain.feeds import LivePaths
from vehicles.domain.mapcheck import validate_procedure
from vehicles.domain.procedure import Procedure, states_of
from vehicles.domain.stepwords import respelled

MAP = FeedMap.from_dict(
    feed_map(fuses=[{"id": name, "feed": "terminal:30"} for name in ("F12", "F13", "F15")])
)
KEY = step(1, "key", value="acc")


def faults(*steps):
    return [(f.place, f.sentence) for f in validate_procedure(procedure(KEY, *steps), MAP)]


def answer(point, *steps):
    states = states_of(Procedure.from_dict(procedure(KEY, *steps)), MAP)
    return LivePaths(MAP, states["tow"]).point(point)


@pytest.mark.parametrize("words", ["Pull F15", "Pull fuse 15", "Take out #15", "Pull 12 and 15"])
def test_words_that_name_another_fuse_are_refused_at_the_words(words):
    (fault,) = faults(step(2, "fuse_out", target="F12", text=words))
    assert fault[0] == "/steps/1/text"
    assert fault[1].startswith("Step 2 pulls F12, but its words name “")


def test_what_undoes_it_must_put_the_same_fuse_back():
    (fault,) = faults(step(2, "fuse_out", target="F12", reverse="Put F15 back"))
    assert fault[0] == "/steps/1/reverse"
    assert fault[1].startswith("Step 2 pulls F12, but what undoes it names “F15”.")


def test_two_steps_with_each_others_words_are_both_refused():
    found = faults(
        step(2, "fuse_out", target="F12", text="Pull F15"),
        step(3, "fuse_out", target="F15", text="Pull F12"),
    )
    assert [place for place, _ in found] == ["/steps/1/text", "/steps/2/text"]


@pytest.mark.parametrize(
    ("words", "place"),
    [
        ("Pull fuse 12", "/steps/1/text"),
        ("Take out F99", "/steps/1/text"),
        ("Pull the radio fuse", "/steps/1/text"),
    ],
)
def test_a_fuse_in_words_only_asks_for_a_step_of_its_own(words, place):
    (fault,) = faults(step(2, "other", text=words))
    assert fault[0] == place
    assert fault[1].endswith(
        "but is not a step that pulls a fuse. Enter it as a step of its own that pulls this fuse."
    )


def test_a_fuse_chosen_for_something_else_is_refused_at_the_fuse():
    (fault,) = faults(step(2, "other", text="Take it out", target="F12"))
    assert fault[0] == "/steps/1/target"


def test_putting_a_pulled_fuse_back_in_the_middle_is_refused():
    (fault,) = faults(
        step(2, "fuse_out", target="F12"), step(3, "other", text="Put F12 back and start it")
    )
    assert fault[0] == "/steps/2/text"
    assert fault[1].endswith("Enter it as what undoes the step that pulls it.")


@pytest.mark.parametrize(
    "steps",
    [
        [step(2, "fuse_out", target="F12", text="Pull the radio fuse, the upper of two")],
        [step(2, "fuse_out", target="F12", text="Pull fuse 12 (15 amp), next to F13")],
        [step(2, "fuse_out", target="F12"), step(3, "other", text="Keep F12 with the papers")],
        [step(2, "fuse_out", target="F12"), step(3, "gear", value="N", reverse="Put F12 back")],
        [step(2, "fuse_out", target="F12", text="Pull F12 and F15"),
         step(3, "fuse_out", target="F15", text="Pull F12 and F15")],
        [step(2, "other", text="Wait 5 minutes, 2 turns, gear 2, 15 amp")],
    ],
)  # fmt: skip
def test_words_that_fit_are_no_fault(steps):
    assert faults(*steps) == []


def test_until_it_is_mended_both_fuses_are_unknown():
    """As in a revision that is older than this check."""
    wrong = step(2, "fuse_out", target="F12", text="Pull F15")
    assert answer("fuse:F12", wrong).value is Value.UNKNOWN
    assert answer("fuse:F15", wrong).value is Value.UNKNOWN
    assert answer("fuse:F13", wrong).value is Value.ON
    assert answer("fuse:F12", wrong).why == "F12: the words of step 2 leave open whether it is out"


def test_a_fuse_named_in_words_only_is_unknown():
    assert answer("fuse:F12", step(2, "other", text="Pull no. 12")).value is Value.UNKNOWN
    assert answer("fuse:F12", step(2, "other", text="Wait 12 minutes")).value is Value.ON


FUSES = st.sampled_from(["F12", "F13", "F15"])


@given(chosen=FUSES, said=FUSES, spelled=st.sampled_from(["Pull {}", "Pull fuse {}", "{} out"]))
def test_a_fuse_step_fits_exactly_where_its_words_name_its_fuse(chosen, said, spelled):
    found = faults(step(2, "fuse_out", target=chosen, text=spelled.format(said)))
    assert (found == []) is (chosen == said)


@pytest.mark.parametrize(
    ("words", "anew"),
    [
        ("Pull fuse F12", "Pull fuse F15"),
        ("Put F12 back", "Put F15 back"),
        ("Put fuse F12 back in.", "Put fuse F15 back in"),
        ("Pull F12, the upper one", "Pull F12, the upper one"),
        ("Pull fuse F13", "Pull fuse F13"),
        ("", ""),
    ],
)
def test_only_generated_words_follow_a_changed_fuse(words, anew):
    assert respelled(words, was="F12", now="F15") == anew
    assert respelled(words, was="F12", now="F12") == words
    assert respelled(words, was="", now="F15") == words
