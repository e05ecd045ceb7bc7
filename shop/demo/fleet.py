"""The demo's vehicles: who has what, since when, and when it was last looked at and proven.

All days are counted back from the day on which the demo is loaded, so that something is always
overdue, something due soon and the rest fine.
"""

from dataclasses import dataclass

from .people import PEOPLE


@dataclass(frozen=True)
class Towed:
    """A towed vehicle that is loaded from a sheet of shop/demo/sheets.

    `since`, `looked` and `proven` are days ago: it came to the shop and was fitted, every check
    was passed, the proof was signed; None for never. With a `year` it is another car of the
    sheet's range, with numbers of its own. `outlet` swaps the sheet's brake unit for a portable
    one that is plugged in there; `bare` leaves these fittings out (a star leaves out all).
    """

    key: str
    owner: str
    sheet: str
    since: int
    looked: int | None = None
    proven: int | None = None
    year: int | None = None
    plate: str = ""
    colour: str = ""
    outlet: str = ""
    bare: tuple[str, ...] = ()
    battery_months: int | None = None

    @property
    def battery_age(self) -> int:
        """How many months ago the breakaway battery was made: two before it was fitted."""
        return self.battery_months or self.since // 30 + 3


@dataclass(frozen=True)
class Coach:
    """A motorhome, with its ratings in pounds as its labels give them."""

    owner: str
    make: str
    model: str
    chassis_make: str
    year: int
    gvwr_lb: int
    gcwr_lb: int
    hitch_lb: int
    scaled_lb: int | None
    since: int


TOLD = (
    Towed("outlet_dead", "bram", "vireo_outlet_dead", 12, colour="grey"),
    Towed("load_side_tap", "oskar", "merle_load_side", 30, colour="dark blue"),
    Towed("negative_leg", "mcallan", "fenland_negative_leg", 21, colour="red"),
    Towed("unknown_feed", "wahlstrom", "skerry_unknown", 45, colour="white"),
    Towed("revised", "teague", "teasel", 400, 160, 160, colour="green"),
    Towed("swapped_old", "okonjo", "halm", 800, 230, 230, 2013, "HLM 313", "silver", "outlet:dash"),
    Towed("swapped_new", "okonjo", "dunlin", 26, None, None, 2017, "DUN 717", "black", bare=("*",)),
    Towed("not_towable", "quist", "quern", 6, colour="orange"),
    Towed("good", "nyberg", "fenland", 500, 40, 40, colour="sand"),
    Towed("overdue", "dorn", "dunlin", 900, 430, 430, colour="blue"),
    Towed("never_proven", "castellano", "skerry", 15, colour="white"),
    Towed("old_battery", "holloway", "merle", 1400, 70, 70, colour="grey", battery_months=50),
    Towed("shared_first", "petrakis", "halm", 700, 100, 100, 2012, "HLM 112", "red", "outlet:dash"),
    Towed("shared_second", "petrakis", "vireo_outlet_kit", 90, 60, None, bare=("brake",)),
    Towed("sold", "sandoval", "sorrel", 640, 380, 380, colour="white"),
    Towed("mail_failed", "ferrier", "halm", 420, 345, 345, colour="green"),
    Towed("snoozed", "abara", "vireo_outlet_kit", 500, 350, 350, 2019, "ABA 019", "yellow"),
    Towed("booked", "grandy", "dunlin", 600, 352, 352, 2014, "GRN 414", "brown"),
    Towed("outside_work", "yamane", "sorrel", 450, 90, 90, 2020, "YMN 020", "silver"),
    Towed("timer", "thorne", "dunlin_timer", 18, colour="grey"),
    Towed("menu", "vasquez", "sorrel_menu", 33, colour="red"),
    Towed("customer_says", "brae", "tarn", 50, colour="dark green"),
    Towed("not_established", "solheim", "sedge", 10, colour="pearl"),
    Towed("opted_out", "whitlow", "fenland", 700, 350, 350, 2021, "WHT 121", "black"),
    Towed("no_email", "oakes", "merle", 650, 370, 370, 2013, "OAK 313", "maroon"),
    Towed("two_sources", "larsen", "halm", 520, 345, 345, 2015, "LRS 515", "white"),
    Towed("same_address", "marit", "halm", 515, 348, 348, 2014, "LRS 514", "blue"),
    Towed("snowbird", "delacroix", "skerry", 380, 344, 344, 2019, "AZ 7719", "sand"),
    Towed("fleet_one", "pemberton", "teasel", 420, 150, 150, 2017, "PEM 001", "white"),
    Towed("fleet_two", "pemberton", "teasel", 415, 149, 149, 2018, "PEM 002", "white"),
    Towed("steering_off", "ilic", "merle", 560, 338, 338, 2016, "ILC 616", "silver"),
)

# Sheets on which nothing is found, with the years of their range.
_FINE = (
    ("vireo_outlet_kit", 2016, 4), ("halm", 2012, 4), ("fenland", 2018, 5), ("dunlin", 2014, 4),
    ("sorrel", 2017, 5), ("merle", 2013, 4), ("skerry", 2019, 4),
)  # fmt: skip
_COLOURS = ("white", "silver", "grey", "blue", "red", "black", "green", "sand")
_TOLD_OWNERS = {car.owner for car in TOLD}


def _quiet() -> tuple[Towed, ...]:
    """Return one car for everyone who has none yet: looked at and proven in the last ten months."""
    others = [person.key for person in PEOPLE if person.key not in _TOLD_OWNERS]
    cars = []
    for at, owner in enumerate(others):
        sheet, first, years = _FINE[at % len(_FINE)]
        looked = 14 + (at * 37) % 300
        cars.append(
            Towed(
                key=f"quiet_{at:02}",
                owner=owner,
                sheet=sheet,
                since=looked + 20 + (at * 53) % 700,
                looked=looked,
                proven=looked,
                year=first + at % years,
                plate=f"{owner[:3].upper()} {310 + at * 7}",
                colour=_COLOURS[at % len(_COLOURS)],
            )
        )
    return tuple(cars)


TOWED: tuple[Towed, ...] = (*TOLD, *_quiet())

# Make, model, chassis make, GVWR, GCWR and hitch rating in pounds.
COACH_MODELS = (
    ("Hollowmere", "Q34", "Burdock", 22_000, 26_000, 5_000),
    ("Winterfold", "380R", "Traskel", 36_000, 46_000, 10_000),
    ("Corriemoor", "Ledger 29", "Ironmarl", 14_500, 22_000, 7_500),
    ("Hollowmere", "Q38", "Burdock", 24_000, 30_000, 5_000),
    ("Quernlow", "Amble 24", "Ironmarl", 11_030, 15_250, 5_000),
    ("Winterfold", "420R", "Traskel", 44_600, 54_600, 10_000),
)
WITHOUT_COACH_EVERY = 4


def _coaches() -> tuple[Coach, ...]:
    """Return the motorhomes: three customers out of four have told the shop of theirs."""
    first_car = {car.owner: car for car in reversed(TOWED)}
    coaches = []
    for at, person in enumerate(PEOPLE):
        if at % WITHOUT_COACH_EVERY == WITHOUT_COACH_EVERY - 1:
            continue
        make, model, chassis, gvwr, gcwr, hitch = COACH_MODELS[at % len(COACH_MODELS)]
        coaches.append(
            Coach(
                owner=person.key,
                make=make,
                model=model,
                chassis_make=chassis,
                year=2012 + (at * 5) % 12,
                gvwr_lb=gvwr,
                gcwr_lb=gcwr,
                hitch_lb=hitch,
                scaled_lb=gvwr - 900 - at * 20 if at % 2 else None,
                since=first_car[person.key].since,
            )
        )
    return tuple(coaches)


COACHES: tuple[Coach, ...] = _coaches()
