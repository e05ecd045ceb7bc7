"""Values that a check wants: read as written, and asked for before a look counts as good."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from installs.domain.wants import Want, read_wants, value_faults, wants_of

HELD = Want("held minutes", 15)


def test_lines_are_read_stored_and_written_back() -> None:
    wants = read_wants(["held minutes, at least 15", "volts before"])
    assert wants == [HELD, Want("volts before")]
    assert wants_of([want.to_dict() for want in wants]) == wants
    assert read_wants([want.words for want in wants]) == wants


@pytest.mark.parametrize(
    ("lines", "sentence"),
    [
        (["held: 15"], "“held: 15”: write a name, or: held minutes, at least 15"),
        (["held, at most 15"], "“held, at most 15”: write a name"),
        (["x" * 61], "write a name"),
        (["volts", "Volts, at least 12"], "“Volts” is there twice."),
        ([f"value {n}" for n in range(13)], "That is 13 values; a check wants at most 12."),
    ],
)
def test_a_wrong_line_is_told(lines: list[str], sentence: str) -> None:
    with pytest.raises(ValueError, match=r".+") as caught:
        read_wants(lines)
    assert sentence in str(caught.value)


@pytest.mark.parametrize("result", ["stiff", "weak", "nothing", "failed", "not_tested"])
def test_a_look_that_is_not_good_needs_no_value(result: str) -> None:
    assert list(value_faults([HELD], {}, result)) == []


def test_words_and_nonsense_are_no_number() -> None:
    (fault,) = value_faults([HELD], {"Held minutes": "a while"}, "passed")
    assert fault == "“held minutes: a while” does not begin with a number."


@given(st.text(max_size=40))
def test_whatever_is_typed_gets_an_answer(text: str) -> None:
    assert len(list(value_faults([HELD], {"held minutes": text}, "passed"))) <= 1
