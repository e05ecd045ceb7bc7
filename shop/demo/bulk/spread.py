"""How a generated fleet is spread, by the number of the vehicle alone."""

from dataclasses import dataclass
from datetime import date, timedelta

from installs.domain.intervals import add_months

SECOND_CAR_EVERY, DUE_EVERY, NEVER_EVERY, COACH_EVERY = 5, 50, 100, 2


@dataclass(frozen=True)
class Spread:
    """The days of each vehicle, counted back from `today`."""

    today: date

    def is_second(self, number: int) -> bool:
        """Tell whether it belongs to the owner of the vehicle before it."""
        return number % SECOND_CAR_EVERY == SECOND_CAR_EVERY - 1

    def is_proven(self, number: int) -> bool:
        """Tell whether its proof was ever signed."""
        return number % NEVER_EVERY != NEVER_EVERY - 1

    def looked_on(self, number: int) -> date:
        """Return the day of the last visit: about a year ago for some, else within ten months."""
        if number % DUE_EVERY == 0:
            return self.today - timedelta(days=345 + number // DUE_EVERY % 60)
        return self.today - timedelta(days=5 + number * 7 % 295)

    def fitted_on(self, number: int) -> date:
        """Return the day of fitting: that of the last visit, or a year before it."""
        looked = self.looked_on(number)
        return add_months(looked, -12) if number % 2 else looked
