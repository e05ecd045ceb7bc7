"""One way to spell text for searching, used alike when storing and when asking.

What is shown to people keeps its spelling; only the hidden look-up text is made plain: small
letters, no accents, no punctuation. A search splits the question with `tokens` and wants every
token, in one of its `forms`, somewhere in the stored text of `lookup_text`; `found_in` says
the same in Python, and the database does it with one "contains" per form.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass

MOST_TOKENS = 8

# Letters that carry their stroke or ligature inside, so taking accents away does not reach them.
_STROKES = str.maketrans(
    {"ł": "l", "ø": "o", "đ": "d", "ð": "d", "ħ": "h", "ŧ": "t", "\u0131": "i"}
    | {"æ": "ae", "œ": "oe", "þ": "th", "ŋ": "n", "ĸ": "k"}
)
# On plates and in serials these are told apart by nobody.
_LOOK_ALIKES = str.maketrans({"o": "0", "i": "1"})
_KEYPAD = str.maketrans("abcdefghijklmnopqrstuvwxyz", "22233344455566677778889999")
_SHORTEST_PHONE = 7


def fold(text: str) -> str:
    """Return `text` in small letters without accents; spaces and punctuation stay.

    ł, ø and ß become l, o and ss. Folding twice changes nothing more.
    """
    plain = unicodedata.normalize("NFKD", unicodedata.normalize("NFKD", text).casefold())
    bare = "".join(c for c in plain if not unicodedata.combining(c))
    return bare.casefold().translate(_STROKES)


def squeeze(text: str) -> str:
    """Return `text` folded, letters and digits only: plates, serials and VINs in one spelling."""
    return "".join(c for c in fold(text) if c.isalnum())


def look_alike(text: str) -> str:
    """Return `text` squeezed, with O written as 0 and I as 1."""
    return squeeze(text).translate(_LOOK_ALIKES)


def _parts(text: str) -> list[str]:
    """Return the squeezed pieces of `text` between white space, empty ones left out."""
    return [piece for piece in map(squeeze, fold(text).split()) if piece]


def lookup_text(
    *, words: Iterable[str] = (), codes: Iterable[str] = (), phones: Iterable[str] = ()
) -> str:
    """Return the text to store for searching.

    `words` (names, addresses, phones as typed) are kept word by word. `codes` (plates, serials,
    VINs) lose spaces and dashes and are kept a second time by look-alikes. `phones` are numbers
    to dial, of which the digits are kept. Pieces are parted by one space.
    """
    pieces = [piece for text in words for piece in _parts(text)]
    for code in codes:
        pieces += [squeeze(code), look_alike(code)]
    pieces += ["".join(c for c in squeeze(number) if c.isdigit()) for number in phones]
    return " ".join(dict.fromkeys(piece for piece in pieces if piece))


@dataclass(frozen=True, slots=True)
class Token:
    """One piece of a question: `plain`, and `others` that a person may have meant by it.

    Hits on `others` alone are offered after the hits on `plain`.
    """

    plain: str
    others: tuple[str, ...] = ()

    @property
    def forms(self) -> tuple[str, ...]:
        """All spellings; one of them has to occur."""
        return (self.plain, *self.others)


def tokens(query: str) -> tuple[Token, ...]:
    """Return the pieces that must all occur in a stored text; empty when nothing is asked.

    At most `MOST_TOKENS`: a pasted page must not become a hundred conditions.
    """
    return tuple(map(_token, list(dict.fromkeys(_parts(query)))[:MOST_TOKENS]))


def _token(plain: str) -> Token:
    others = [plain.translate(_LOOK_ALIKES)]
    if len(plain) >= _SHORTEST_PHONE:
        digits = plain.translate(_KEYPAD)
        if plain[0].isdigit() and digits.isdigit():
            # Letters of a number spelled as a word, and the zero dialled inside a country only.
            others += [digits, digits.removeprefix("0")]
    return Token(plain, tuple(form for form in dict.fromkeys(others) if form != plain))


def found_in(lookup: str, query: str) -> bool:
    """Tell whether `query` finds a text stored by `lookup_text`; an empty query finds none."""
    asked = tokens(query)
    return bool(asked) and all(any(form in lookup for form in token.forms) for token in asked)
