"""The demo's customers, all invented: names, places, numbers (555-01xx), addresses (.example)."""

from dataclasses import dataclass

from shop.people.services import PersonLine
from vehicles.domain.normal import fold

TOWNS = {
    "larkfield": "Larkfield, CO 80000",
    "pinyon": "Pinyon Gap, CO 80001",
    "dryfork": "Dry Fork Junction, CO 80002",
    "sable": "Sable Flats, WY 82000",
    "cotton": "Cottonwood Bend, NM 87000",
    "ocotillo": "Ocotillo Rest, AZ 85000",
    "tansy": "Upper Tansy, UT 84000",
    "marrow": "Marrow Lake, TX 78000",
}


@dataclass(frozen=True)
class Person:
    """A customer as the desk entered them. `key` is what the fleet calls them by."""

    key: str
    name: str
    street: str
    town: str
    phones: tuple[str, ...] = ()
    emails: tuple[str, ...] = ()
    called: str = ""
    persons: tuple[PersonLine, ...] = ()
    language: str = "en"
    time_zone: str = "America/Denver"
    country: str = "US"
    business_use: bool = False
    note: str = ""
    declines_service: str = ""

    @property
    def address(self) -> str:
        """The postal address in free lines."""
        return "\n".join(filter(None, (self.street, TOWNS.get(self.town, self.town))))


def _person(name: str, part: str = "", *, called: str = "", hooks_up: bool = False) -> PersonLine:
    return PersonLine(name=name, called=called, part=part, hooks_up=hooks_up)


TOLD = (
    Person(
        "bram",
        "Bram van der Meulen",
        "12 Alder Lane",
        "larkfield",
        ("(303) 555-0117",),
        ("bram@vandermeulen.example",),
        language="nl",
        persons=(
            _person("Bram van der Meulen", "drives", hooks_up=True),
            _person("Ilse van der Meulen", "pulls the fuses", hooks_up=True),
        ),
    ),
    Person(
        "oskar",
        "Oskar Lindqvist",
        "4 Mill Race",
        "pinyon",
        ("720.555.0123",),
        ("oskar.l@mail.example",),
    ),
    Person(
        "mcallan",
        "Fiona McAllan",
        "77 Tollgate Road",
        "dryfork",
        ("+1 970 555 0131 x2",),
        ("fiona@mcallan.example",),
        called="Fi",
    ),
    Person(
        "wahlstrom",
        "Åsa Wåhlström",
        "9 North Ridge",
        "larkfield",
        ("970-555-0104",),
        ("asa@wahlstrom.example",),
    ),
    Person(
        "teague",
        "Rosalind Teague",
        "31 Depot Street",
        "pinyon",
        ("303 555 0109",),
        ("rosalind.teague@mail.example",),
        called="Ros",
        note="Asked twice whether a bulletin came out for the Teasel.",
    ),
    Person(
        "okonjo",
        "Emeka Okonjo",
        "5 Quarry Bend",
        "larkfield",
        ("(720) 555-0140", "(720) 555-0141"),
        ("emeka@okonjo.example",),
        persons=(_person("Emeka Okonjo", "drives", hooks_up=True), _person("Adaeze", "navigates")),
    ),
    Person(
        "quist",
        "Halvard Quist",
        "18 Sluice Road",
        "tansy",
        ("801-555-0112",),
        ("halvard@quist.example",),
    ),
    Person(
        "nyberg",
        "Signe & Paul Nyberg",
        "2 Harrow Court",
        "larkfield",
        ("303.555.0150",),
        ("nybergs@mail.example",),
        called="Signe and Paul",
        persons=(
            _person("Signe Nyberg", "hooks up", hooks_up=True),
            _person("Paul Nyberg", "drives", hooks_up=True),
        ),
    ),
    Person(
        "dorn",
        "Walther Dörn",
        "40 Switchback Lane",
        "sable",
        ("307 555 0118",),
        ("w.doern@mail.example",),
        language="de",
    ),
    Person(
        "castellano",
        "Inés Castellano Rúa",
        "6 Plaza Vieja",
        "cotton",
        ("(505) 555-0127",),
        ("ines.castellano@mail.example",),
        language="es",
    ),
    Person(
        "holloway",
        "JUNE HOLLOWAY-BRIGGS",
        "803 COUNTY ROAD 9",
        "dryfork",
        ("9705550133",),
        ("JUNE@HOLLOWAY.EXAMPLE",),
        note="Taken over from the old card file, all in capitals as it stood there.",
    ),
    Person(
        "petrakis",
        "Nikos Petrakis",
        "15 Foundry Row",
        "larkfield",
        ("303-555-0166",),
        ("nikos@petrakis.example",),
        note="Two towed cars, one portable brake unit for both.",
    ),
    Person(
        "sandoval",
        "Teresa Sandoval",
        "22 Orchard Close",
        "cotton",
        ("505-555-0139",),
        ("teresa@sandoval.example",),
        language="es",
        note="Sold the Sorrel in town; keeps the coach.",
    ),
    Person(
        "ferrier",
        "Luc Ferrier",
        "3 rue des Peupliers\nSaint-Orme QC",
        "Canada",
        ("+1 514 555 0190",),
        ("luc@ferrier.example",),
        language="fr",
        time_zone="America/Toronto",
        country="CA",
    ),
    Person(
        "abara",
        "Chidi",
        "19 Lantern Street",
        "larkfield",
        ("720 555 0171",),
        ("chidi@mail.example",),
        note="One name is the whole name.",
    ),
    Person(
        "grandy",
        "Mabel Grandy",
        "61 Signal Hill",
        "pinyon",
        ("303 555 0182",),
        ("mabel@grandy.example",),
    ),
    Person(
        "yamane",
        "Kenji Yamane",
        "8 Cistern Road",
        "larkfield",
        ("(303) 555-0119",),
        ("kenji@yamane.example",),
    ),
    Person(
        "thorne",
        "Gil Thorne",
        "27 Boxelder Way",
        "dryfork",
        ("970.555.0144",),
        ("gil.thorne@mail.example",),
    ),
    Person(
        "vasquez",
        "Pilar Vásquez",
        "14 Acequia Lane",
        "cotton",
        ("+1 (505) 555-0155",),
        ("pilar@vasquez.example",),
        language="es",
    ),
    Person(
        "brae",
        "Ewan MacBrae",
        "50 Coldwater Road",
        "sable",
        ("307-555-0101",),
        ("ewan@macbrae.example",),
        note="Says he has towed like this for years. No manual yet.",
    ),
    Person(
        "solheim",
        "Ragna Solheim",
        "7 Hydro Street",
        "larkfield",
        ("720-555-0188",),
        ("ragna@solheim.example",),
    ),
    Person(
        "whitlow",
        "Dale Whitlow",
        "112 Cattle Drive",
        "marrow",
        ("(512) 555-0110",),
        ("dale@whitlow.example",),
        time_zone="America/Chicago",
        declines_service="said so on the phone: no reminders, he keeps his own calendar",
    ),
    Person(
        "oakes",
        "Verity Oakes",
        "3 Ferry Stairs",
        "pinyon",
        ("303 555 0163",),
        note="No e-mail at all: the desk phones, best before noon.",
    ),
    Person(
        "larsen",
        "Torvald Larsen",
        "90 Long Meadow",
        "larkfield",
        ("303 555 0174",),
        ("larsens@mail.example",),
        note="Shares an address with his sister Marit, who is a customer of her own.",
    ),
    Person(
        "marit",
        "Marit Larsen",
        "92 Long Meadow",
        "larkfield",
        ("303 555 0175",),
        ("larsens@mail.example",),
    ),
    Person(
        "delacroix",
        "Honoré Delacroix",
        "Site 44, Saguaro Rest",
        "ocotillo",
        ("480-555-0136",),
        ("honore@delacroix.example",),
        language="fr",
        time_zone="America/Phoenix",
        note="In Arizona from November to April, in Larkfield the rest of the year.",
    ),
    Person(
        "pemberton",
        "Pemberton Falconry, LLC",
        "200 Aerie Road",
        "tansy",
        ("801 555 0128 ext. 14",),
        ("office@pemberton.example",),
        called="Mr. Ash",
        business_use=True,
        persons=(
            _person("Lionel Ash", "fleet", hooks_up=True),
            _person("Wren Ash", "pays the bills"),
        ),
    ),
    Person(
        "ilic",
        "Dragana Ilić",
        "11 Tannery Walk",
        "larkfield",
        ("720-555-0152",),
        ("dragana@ilic.example",),
    ),
)

_PLAIN = (
    ("Abigail Frost", "larkfield"), ("Anselm Groß", "pinyon"), ("Beatriz Lobo", "cotton"),
    ("Cormac O'Dair", "dryfork"), ("Daphne Yeo", "larkfield"), ("Eino Salmela", "sable"),
    ("Estela Quiroga", "cotton"), ("Fergus McNab-Hale", "larkfield"), ("Greta Ohm", "pinyon"),
    ("Hattie Prewitt", "larkfield"), ("Ignacio Vela", "cotton"), ("Jolanta Król", "dryfork"),
    ("Kofi Asante-Boyd", "larkfield"), ("Lemuel Stroud", "tansy"), ("Maeve Dunleavy", "pinyon"),
    ("Nadia el-Amin", "larkfield"), ("Orrin Castle", "dryfork"), ("Prudence Wye", "sable"),
    ("Quentin Böhm", "larkfield"), ("Rafaela Nunes", "pinyon"), ("Soren Holt", "larkfield"),
    ("Tilda Marsh", "tansy"), ("Ulla Behrens", "larkfield"), ("Vikram Sethi", "dryfork"),
    ("Winona Pike", "larkfield"), ("Xiomara Gil", "cotton"), ("Ye-jin Noh", "larkfield"),
    ("Zebulon Carr", "sable"), ("Ottilie de Wit", "pinyon"), ("Ambrose", "larkfield"),
    ("Ione Blackwood", "larkfield"), ("STANLEY KOPP", "dryfork"),
)  # fmt: skip


def _plain(at: int, name: str, town: str) -> Person:
    mailbox = "".join(c if c.isascii() and c.isalnum() else "." for c in fold(name)).strip(".")
    spellings = ("303-555-01{:02}", "(720) 555-01{:02}", "970.555.01{:02}", "+1 303 555 01{:02}")
    return Person(
        key=name.split(maxsplit=1)[0].lower(),
        name=name,
        street=f"{101 + 7 * at} Quill Creek Road",
        town=town,
        phones=(spellings[at % len(spellings)].format(20 + at),),
        emails=(f"{mailbox.replace('..', '.')}@mail.example",),
    )


PEOPLE: tuple[Person, ...] = (*TOLD, *(_plain(at, *who) for at, who in enumerate(_PLAIN)))
