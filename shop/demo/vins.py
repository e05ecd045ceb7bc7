"""Vehicle identification numbers that no maker has: none begins with 0."""

from vehicles.domain.vin import check_digit

# 49 CFR 565.15: letters of model years 2010 to 2030; I, O, Q, U and Z are left out.
_YEARS = dict(zip(range(2010, 2031), "ABCDEFGHJKLMNPRSTVWXY", strict=True))


def invented_vin(prefix: str, *, year: int, serial: int) -> str:
    """Return a well-formed number with a right check digit.

    `prefix` is 0 and seven more characters, `year` 2010 to 2030, `serial` below 1,000,000.
    """
    if len(prefix) != 8 or prefix[0] != "0":  # noqa: PLR2004 -- the place of the check digit
        raise ValueError(f"{prefix!r} is not 0 and seven more characters")
    draft = f"{prefix}0{_YEARS[year]}L{serial:06d}"
    return draft[:8] + check_digit(draft) + draft[9:]
