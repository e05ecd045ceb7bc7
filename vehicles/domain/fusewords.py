"""Fuses that a sentence names: ``fuse 12``, ``F12``, ``#12``, ``no. 12``, ``the radio fuse``.

A procedure's steps are kept in the source's words too, and words can name another fuse than the
one that was chosen, or pull one that nobody chose. ``named_fuses(text, labels)`` reads them out.
It looks for both mistakes: a number with a unit (15 amp, 5 minutes, 2 turns), a gear, a page or
a bolt is no fuse, nor is one that only says where another sits ("next to F13") or that is to
stay ("do not pull F12"). The spellings are common practice; no standard lists them.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Sequence
from functools import cache, lru_cache
from typing import NamedTuple


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


_TOKEN = re.compile(
    r"[a-z]+\d+[a-z0-9]*|\d+(?:[.,]\d+)?[a-z]*|[a-z]+(?:['’][a-z]+)?|[^\sa-z0-9]", re.IGNORECASE
)
_FUSES = ("fuse", "fuses")
_NUMBER_SIGNS = ("#", "no", "nos", "nr", "number", "numbers")
# What may stand between "fuse" and its label, or between a verb and the fuse.
_BETWEEN: tuple[str, ...] = (
    ".",
    ":",
    "-",
    "(",
    '"',
    "“",
    "”",
    "'",
    "the",
    "position",
    "slot",
    "marked",
    "labelled",
)
_BETWEEN += ("labeled", "called", "both", "also", "out", "again", *_NUMBER_SIGNS)
_LISTS = (",", "and", "&", "or", "+", "/", "plus", "then")
_AND = (*_LISTS, *_BETWEEN)
_OUT_VERBS = ("pull", "pulling", "remove", "removing", "unplug", "withdraw", "extract", "take")
_VERBS: tuple[str, ...] = (
    *_OUT_VERBS,
    "put",
    "insert",
    "reinsert",
    "replace",
    "refit",
    "reinstall",
    "install",
)
_VERBS += ("swap", "plug", "return", "lift")
# A word that makes a label or a number behind it something else than a fuse.
_NOT_FUSES = _words(
    "page step figure fig bolt screw gear gears range relay relays terminal terminals outlet "
    "outlets switch pin pins hole hook link plug key position selector shift lever bay door "
    "section chapter item note hose clamp lamp mode level line"
)
_OTHER_THINGS = _words("relay relays bolt screw terminal connector outlet switch key")
_UNITS = _words(
    "a amp amps ampere amperes ma v volt volts w watt watts min mins minute minutes s sec secs "
    "second seconds h hr hrs hour hours day days mph km kph mile miles mi ft foot feet inch inches "
    "mm cm m lb lbs kg psi bar turn turns time times percent degrees gear pin pins people"
)
_QUANTITY = re.compile(r"\d+(?:[.,]\d+)?(?:a|amps?|ma|v|w|mins?|s|sec|h|mph|km|mm|cm|lbs?|kg|psi)?")
# What may follow a bare number for it to be the end of what is named.
_ENDS = _words(
    "and or out from back before after in at into again until while when then with fuse fuses "
    "for if first now"
)
_PLACES = _words("beside above below under over near opposite between behind adjacent neighbouring")
_PLACES_OF = ("to", "of")
_NOT = _words("not never don't don’t leave cannot")
_STAYS = _words("stay stays remain remains")
_BUT = _words("until before unless if when without forget fail only")
_STOPS = (".", ";", ",", ":", "!", "?", "(", ")")
# What a fuse comes in or with: the word does not stand for a fuse then.
_BELONGINGS = _words(
    "box boxes panel block cover lid puller pullers tool holder holders tap taps diagram map chart "
    "card compartment carrier label list"
)
# Shapes that are also a gear (D4), a drive (4L) or a model; they need "fuse" or a verb beside them.
_AMBIGUOUS = re.compile(r"[prndlms]\d|\d+[a-z]*|[a-z]+")
_UNLISTED = re.compile(r"f\d{1,2}[a-z]?")
_LONGEST_LABEL = 4
_NEGATED_WITHIN = 5


class Named(NamedTuple):
    """A fuse in a sentence: as ``spelled`` there, and the labels of the map it can mean.

    ``fuses`` is empty for a fuse that the map lacks, or one that has no label (``spelled`` is
    then what stands there: ``the radio fuse``).
    """

    spelled: str
    fuses: tuple[str, ...]


@lru_cache(maxsize=4096)
def named_fuses(
    text: str, labels: tuple[str, ...], others: frozenset[str] = frozenset()
) -> tuple[Named, ...]:
    """Every fuse that ``text`` names, in its order, each spelling once.

    ``labels`` are the fuses of the map, ``others`` the labels of its other elements: a name
    that both have is a fuse only where the word stands beside it.
    """
    if not any(c.isdigit() for c in text) and "fuse" not in text.casefold():
        labels = tuple(label for label in labels if label in text)
        if not labels:
            return ()
    found = _Reader(text, labels, others).read()
    return tuple({named.spelled.casefold(): named for named in reversed(found)}.values())[::-1]


def meant(spelled: str, labels: Sequence[str]) -> tuple[str, ...]:
    """The labels that a spelling can mean: ``12``, ``F 12`` and ``f012`` mean ``F12``."""
    exact = tuple(label for label in labels if _squeezed(label) == _squeezed(spelled))
    if exact:
        return exact
    letters, digits, tail = _shape(spelled)
    if not digits:
        return ()
    return tuple(
        label
        for label in labels
        for theirs in [_shape(label)]
        if theirs[1:] == (digits, tail)
        and (theirs[0] == letters or not letters or (not theirs[0] and letters == "f"))
    )


@cache
def _squeezed(text: str) -> str:
    return "".join(c for c in text.casefold() if c.isalnum())


@cache
def _shape(text: str) -> tuple[str, str, str]:
    """Letters, digits without leading zeros, and what follows: ``F08a`` -> f, 8, a."""
    parts = re.fullmatch(r"([a-z]*?)0*(\d+)([a-z]*)", _squeezed(text))
    return (parts[1], parts[2], parts[3]) if parts else (_squeezed(text), "", "")


class _Reader:
    """Walks over the words of one text."""

    def __init__(self, text: str, labels: tuple[str, ...], others: frozenset[str]) -> None:
        self.text = unicodedata.normalize("NFKC", text)
        self.spans = [match.span() for match in _TOKEN.finditer(self.text)]
        self.words = [self.text[a:b].casefold() for a, b in self.spans]
        self.labels = labels
        self.others = {_squeezed(other) for other in others}
        prefixes = {_shape(label)[0] for label in labels if _shape(label)[1]}
        self.prefixes = {prefix for prefix in prefixes if len(prefix) > 1}

    def read(self) -> list[Named]:
        """Every mention, those with a label first tried at each word."""
        found: list[Named] = []
        ended, listed, skipped = -1, False, False
        at = 0
        while at < len(self.words):
            joined = listed and self._joins(ended, at)
            hit = self._label(at, joined=joined)
            if hit is None:
                at += 1
                continue
            end, fuses = hit
            stays = skipped if joined else self._stays(at, end)
            if not stays:
                found.append(Named(self._spelled(at, end), fuses))
            ended, listed, skipped, at = end, True, stays, end
        return found or [*self._unlabelled()]

    def _joins(self, ended: int, at: int) -> bool:
        """Is the next label one of a list (``F12, 13 and F15``)?"""
        words = self.words[ended:at]
        return all(w in _AND for w in words) and any(w in _LISTS for w in words)

    def _spelled(self, at: int, end: int) -> str:
        return self.text[self.spans[at][0] : self.spans[end - 1][1]]

    def _word(self, at: int) -> str:
        return self.words[at] if 0 <= at < len(self.words) else ""

    def _label(self, at: int, *, joined: bool) -> tuple[int, tuple[str, ...]] | None:
        """A label that begins here: where it ends and what it means, if it stands for a fuse."""
        for length in range(min(_LONGEST_LABEL, len(self.words) - at), 0, -1):
            end = at + length
            if not (self._word(at)[0].isalnum() and self._word(end - 1)[0].isalnum()):
                continue
            spelled = self._spelled(at, end)
            fuses = meant(spelled, self.labels)
            if length > 1 and not (fuses and self._as_one(spelled, fuses)):
                continue
            if self._is_fuse(at, end, spelled, fuses, joined=joined):
                return end, fuses
        return None

    def _as_one(self, spelled: str, fuses: tuple[str, ...]) -> bool:
        """Do these words make up one label (``F 12``), rather than a label and a neighbour?"""
        return _squeezed(spelled) in {_squeezed(fuse) for fuse in fuses} or bool(
            re.fullmatch(r"[a-z]{1,3}[ .-]?\d+[a-z]?", spelled.casefold())
        )

    def _is_fuse(
        self, at: int, end: int, spelled: str, fuses: tuple[str, ...], *, joined: bool
    ) -> bool:
        plain = _squeezed(spelled)
        has_digit = any(c.isdigit() for c in plain)
        # A label of the map beats a quantity only where it is spelled to the letter (15A).
        exact = any(spelled == fuse for fuse in fuses)
        if self._is_quantity(end, plain) and not (exact and not plain.isdigit()):
            return False
        before, said_fuse, signed = self._before(at)
        if said_fuse or self._fuse_follows(end, fuses=bool(fuses)):
            return bool(fuses) or (has_digit and (said_fuse or signed or not plain.isdigit()))
        if before in _NOT_FUSES or self._word(end) in _OTHER_THINGS:
            return False
        ended = not self._word(end).isalpha() or self._word(end) in _ENDS
        if (joined and has_digit) or (signed and has_digit):
            led = joined or before in _VERBS or not before
            return ended and (led or bool(fuses))
        if before in _VERBS:
            told = (has_digit and bool(fuses) and ended) or bool(_UNLISTED.fullmatch(plain))
            return told or (exact and not plain.isdigit())
        if fuses:
            return not _AMBIGUOUS.fullmatch(plain) and plain not in self.others
        return bool(_UNLISTED.fullmatch(plain)) or (
            _shape(spelled)[0] in self.prefixes and bool(_shape(spelled)[1])
        )

    def _is_quantity(self, end: int, plain: str) -> bool:
        if plain.isdigit():
            return self._word(end) in _UNITS or self._word(end) in ("%", "°")
        return bool(_QUANTITY.fullmatch(plain))

    def _before(self, at: int) -> tuple[str, bool, bool]:
        """The word that leads to the label, whether it is "fuse", and whether a # stood between."""
        signed = False
        at -= 1
        while self._word(at) in _BETWEEN:
            if self._word(at) == "." and self._word(at - 1) not in (*_NUMBER_SIGNS, *_FUSES):
                return "", False, signed
            signed = signed or self._word(at) in _NUMBER_SIGNS
            at -= 1
        word = self._word(at)
        word = "" if word and not word[0].isalnum() else word
        return word, word in _FUSES, signed

    def _fuse_follows(self, end: int, *, fuses: bool) -> bool:
        if self._word(end) not in _FUSES:
            return False
        return self._word(end + 1) not in _BELONGINGS or fuses

    def _stays(self, at: int, end: int) -> bool:
        """Is the fuse only a landmark, or told to be left alone?"""
        at -= 1
        while self._word(at) in (*_BETWEEN, *_FUSES):
            at -= 1
        place = self._word(at)
        if place in _PLACES or (
            place in _PLACES_OF and self._word(at - 1) in ("next", "left", "right", "close")
        ):
            return True
        after = self.words[end : end + 3]
        if _STAYS & set(after) and "out" not in after:
            return True
        clause: list[str] = []
        while at >= 0 and self._word(at) not in _STOPS and len(clause) < _NEGATED_WITHIN:
            clause.append(self._word(at))
            at -= 1
        if _BUT & set(clause) or not _NOT & set(clause):
            return False
        return "leave" not in clause or "out" not in self.words[end : end + 2]

    def _unlabelled(self) -> Iterator[Named]:
        """A fuse that is taken out without its label: "pull the radio fuse"."""
        for at, word in enumerate(self.words):
            if word not in _FUSES or self._word(at + 1) in _BELONGINGS:
                continue
            start = at
            while start > 0 and self._word(start - 1) not in _STOPS:
                start -= 1
            clause = self.words[start:at]
            verb = next((v for v in clause if v in _OUT_VERBS), "")
            taken = verb and (verb != "take" or "out" in self.words[start : at + 3])
            if (taken or self._word(at + 1) == "out") and not _NOT & set(clause):
                first = start + clause.index(verb) + 1 if taken else start
                yield Named(self._spelled(min(first, at), at + 1), ())
                return
