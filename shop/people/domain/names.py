"""People's names as they give them: one word is enough, capitals are theirs."""

from __future__ import annotations

import re
import unicodedata

LONGEST = 150

# Marks that turn the reading direction of all that follows, so that a name can disguise a line.
_TURNING = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_SHORTEST_SHOUT = 4
_INITIAL = re.compile(r"(^|[\s\-.])(\w)")
_APOSTROPHE = re.compile(r"(\b\w['\u2019])(\w)(?=\w)")
_MC = re.compile(r"\bMc(\w)(?=\w\w)")


def name_fault(name: str) -> str | None:
    """Return a sentence why `name` cannot be taken, or None.

    One word or one letter is a name. Refused are nothing at all, more than `LONGEST` characters,
    and what cannot stand in one line of a letter or a mail's header: line breaks, control
    characters and marks that turn the reading direction.
    """
    if not name.strip():
        return "Enter a name; one word is enough."
    if len(name) > LONGEST:
        return f"This name is too long: at most {LONGEST} characters."
    if any(unicodedata.category(c) in ("Zl", "Zp") or c in "\r\n\v\f\x85" for c in name):
        return "A name stands in one line: take the line break out."
    if any(unicodedata.category(c) in ("Cc", "Cs") or c in _TURNING for c in name):
        return "This name holds a character that cannot be printed; type it anew."
    return None


def greeting(name: str, called: str = "") -> str:
    """Return what to put after "Hello": what they asked to be called, else the name as given.

    The name is never cut into first and last: the first word of it is not always the given name,
    and some people have one word only.
    """
    return " ".join((called.strip() or name).split())


def capitals_suggestion(name: str) -> str | None:
    """Return a quieter spelling to offer for a name all in capitals, or None.

    Only an offer, the name is stored as given: nobody can know whether MACKENZIE writes a second
    capital. Short ones are left alone, they may be initials.
    """
    letters = [c for c in name if c.isalpha()]
    if len(letters) < _SHORTEST_SHOUT or any(c != c.upper() or c == c.lower() for c in letters):
        return None
    quiet = _INITIAL.sub(lambda m: m[1] + m[2].upper(), name.lower())
    quiet = _APOSTROPHE.sub(lambda m: m[1].upper() + m[2].upper(), quiet)
    return _MC.sub(lambda m: "Mc" + m[1].upper(), quiet)
