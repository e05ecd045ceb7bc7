"""What a reading must be to prove anything."""

import math

import pytest

from installs.domain.measured import Measured, Wanted, proof_faults

TOW_ON = Wanted("c1", "supply", "tow", "on", "Brake unit, supply in tow")
TOW_OFF = Wanted("c1", "coil", "tow", "off", "Relay, coil in tow")
DRIVE_ON = Wanted("c1", "supply", "drive", "on", "Brake unit, supply when driving")
TIMED = Wanted("c1", "supply", "tow", "on", "Brake unit, supply in tow", timer_minutes=45)


def fault(want: Wanted, volts: float | None, minutes: float | None = 40) -> str:
    reading = Measured(want.component, want.port, want.state, volts, minutes)
    return proof_faults([want], [reading]).get(want.key, "")


@pytest.mark.parametrize(
    ("want", "volts", "minutes"),
    [
        (TOW_ON, 12.4, 35),
        (TOW_ON, 10.5, 40),
        (TOW_OFF, 0.5, 40),
        (DRIVE_ON, 13.9, None),
        (TIMED, 12.4, 50),
    ],
)
def test_a_settled_reading_within_its_limit_proves_the_port(
    want: Wanted, volts: float, minutes: float | None
) -> None:
    assert fault(want, volts, minutes) == ""


@pytest.mark.parametrize(
    ("want", "volts", "minutes", "sentence"),
    [
        (TOW_ON, None, 40, "Nothing measured is not proven"),
        (TOW_ON, 12.4, None, "how many minutes after key-off"),
        # Retained accessory power commonly ends within 10 to 30 minutes (a how-to site on
        # accessory mode, read); a reading at 2 minutes proves nothing.
        (TOW_ON, 12.4, 2, "too early"),
        (TOW_ON, 12.4, 34.9, "too early"),
        (TIMED, 12.4, 49, "after 50 min"),
        (TOW_ON, 10.4, 40, "at least 10.5 V"),
        (TOW_OFF, 0.6, 40, "must be at rest"),
        (DRIVE_ON, None, None, "Nothing measured is not proven"),
        (TOW_OFF, -12.4, 40, "must be at rest"),  # the leads were swapped
        (TOW_ON, -12.4, 40, "at least 10.5 V"),
        (TOW_ON, 1250, 40, "cannot be read off a 12 V vehicle"),
        (TOW_ON, math.nan, 40, "cannot be read off a 12 V vehicle"),
        (TOW_OFF, math.inf, 40, "cannot be read off a 12 V vehicle"),
        (TOW_ON, 12.4, math.nan, "too early"),
    ],
)
def test_anything_less_is_refused_with_what_to_do(
    want: Wanted, volts: float | None, minutes: float | None, sentence: str
) -> None:
    assert sentence in fault(want, volts, minutes)


def test_every_missing_value_is_named_at_once() -> None:
    assert set(proof_faults([TOW_ON, TOW_OFF, DRIVE_ON], [])) == {
        TOW_ON.key,
        TOW_OFF.key,
        DRIVE_ON.key,
    }


def test_a_reading_of_another_port_proves_nothing() -> None:
    other = Measured("c2", "supply", "tow", 12.4, 40)
    assert list(proof_faults([TOW_ON], [other])) == [TOW_ON.key]
