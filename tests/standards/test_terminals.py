"""Terminal numbers of DIN 72552.

Sources: 15, 30, 30a, 31, 31b and 50 read in secondary listings (one of them de.zxc.wiki), the
standard itself not read; 15R, 75, 49, 54, 58, L, R and 85 to 87a from memory. In which key
position a terminal is live: common practice, no source.
"""

from __future__ import annotations

import pytest

from vehicles.domain.terminals import KEY_POSITIONS, TERMINALS, KeyPosition, supplied_in

READ = {"15", "30", "30a", "31", "31b", "50"}
FROM_MEMORY = {
    *("15R", "75", "49", "49a", "54", "58", "58L", "58R", "L", "R"),
    *("85", "86", "87", "87a"),
}


def test_every_terminal_says_honestly_whether_its_meaning_was_read() -> None:
    assert set(TERMINALS) == READ | FROM_MEMORY
    for number, terminal in TERMINALS.items():
        assert terminal.number == number
        assert ("from memory" in terminal.source) is (number in FROM_MEMORY)


@pytest.mark.parametrize(
    ("position", "numbers"),
    [
        ("off", {"30", "30a"}),
        ("acc", {"30", "30a", "15R", "75"}),
        ("on", {"30", "30a", "15R", "75", "15"}),
        ("start", {"30", "30a", "15", "50"}),
    ],
)
def test_what_the_key_leaves_live(position: KeyPosition, numbers: set[str]) -> None:
    # Common practice, no source; the accessory is dropped while cranking.
    assert supplied_in(position) == numbers


def test_constant_supply_does_not_ask_for_the_key() -> None:
    assert TERMINALS["30"].live_in == frozenset(KEY_POSITIONS)


@pytest.mark.parametrize("number", ["54", "58", "L", "R", "87", "87a", "49a"])
def test_what_a_switch_or_relay_decides_is_not_told_by_the_key(number: str) -> None:
    assert TERMINALS[number].role == "load"
    assert not TERMINALS[number].live_in


@pytest.mark.parametrize("number", ["31", "31b"])
def test_returns_feed_nothing(number: str) -> None:
    assert TERMINALS[number].role == "return"
    assert not TERMINALS[number].live_in


def test_a_position_that_no_key_has_is_refused() -> None:
    with pytest.raises(ValueError, match="no key position"):
        supplied_in("valet")  # type: ignore[arg-type]
