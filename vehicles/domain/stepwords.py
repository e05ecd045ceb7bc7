"""Do a step's words say what the step does? Fuses in words against the fuses that are pulled.

The judgement goes by a step's ``target``; a person with the fuse puller goes by its words. Where
they name different fuses, or words alone name one, nobody knows which fuse is out: until the step
is mended, ``doubted_fuses`` says which answers that takes away.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vehicles.domain.feedmap import FeedMap
from vehicles.domain.fusewords import Named, meant, named_fuses

if TYPE_CHECKING:
    from vehicles.domain.procedure import Step

PULL = "Pull fuse {}"
_FUSE = "fuse:"
_PUTS_BACK = ("back", "put ", "insert", "refit", "replace", "reinstall", "install", "plug")
# What a reverse step is called where nobody found other words; "{}" is the fuse.
_BACK_AGAIN = ("Put {} back", "Put fuse {} back", "Put {} back in", "Put fuse {} back in")


@dataclass(frozen=True, slots=True)
class WordFault:
    """Words of ``step``, the one at position ``at``, that do not fit it: in which ``field``, why,
    and what to do.

    ``fuses`` are the labels of the map of which nobody then knows whether they are out.
    """

    at: int
    step: int
    field: str
    sentence: str
    remedy: str
    fuses: tuple[str, ...]


# Field, sentence, remedy, fuses: a ``WordFault`` before its step is known.
_Told = tuple[str, str, str, tuple[str, ...]]


def word_faults(steps: Sequence[Step], feed_map: FeedMap | None) -> tuple[WordFault, ...]:
    """Every step whose words name another fuse than it pulls, or one that no step pulls.

    Without a map only the fuses that the steps themselves pull are known by label.
    """
    pulled = tuple(dict.fromkeys(s.target for s in steps if s.action == "fuse_out" and s.target))
    mapped = () if feed_map is None else tuple(fuse.id for fuse in feed_map.fuses)
    labels = tuple(dict.fromkeys((*mapped, *pulled)))
    others = frozenset() if feed_map is None else _others(feed_map)
    return tuple(
        WordFault(at, step.no, *told)
        for at, step in enumerate(steps)
        for told in _of_step(step, labels, others, pulled)
    )


def doubted_fuses(steps: Sequence[Step], feed_map: FeedMap | None) -> dict[str, int]:
    """Fuse -> number of the step whose words leave open whether it is out."""
    return {fuse: fault.step for fault in word_faults(steps, feed_map) for fuse in fault.fuses}


def _others(feed_map: FeedMap) -> frozenset[str]:
    kinds = (feed_map.terminals, feed_map.relays, feed_map.switches, feed_map.outlets)
    return frozenset(element.id for elements in kinds for element in elements)


def _of_step(
    step: Step, labels: tuple[str, ...], others: frozenset[str], pulled: tuple[str, ...]
) -> Iterator[_Told]:
    for field in ("text", "reverse"):
        words = getattr(step, field)
        named = named_fuses(words, labels, others) if words else ()
        if step.action == "fuse_out":
            yield from _other_fuse(step, field, named, labels, pulled)
        else:
            yield from _in_words_only(step, field, named, pulled)
    if step.action != "fuse_out":
        yield from _in_words_only(step, "target", _as_target(step, labels, others), pulled)


def _as_target(step: Step, labels: tuple[str, ...], others: frozenset[str]) -> tuple[Named, ...]:
    fuse = step.target.removeprefix(_FUSE).partition("@")[0]
    if step.target.startswith(_FUSE) or fuse in labels:
        return (Named(fuse, meant(fuse, labels)),)
    return () if ":" in fuse else named_fuses(fuse, labels, others)


def _other_fuse(
    step: Step,
    field: str,
    named: tuple[Named, ...],
    labels: tuple[str, ...],
    pulled: tuple[str, ...],
) -> Iterator[_Told]:
    """Words of a fuse step. One more fuse may stand there if a step of its own pulls it."""
    if not step.target:
        return
    with_label = [n for n in named if any(c.isdigit() for c in n.spelled) or n.fuses]
    said_own = any(step.target in n.fuses for n in with_label)
    wrong = [
        n
        for n in with_label
        if step.target not in n.fuses and not (said_own and set(n.fuses) & set(pulled))
    ]
    if wrong:
        spelled = _listed(n.spelled for n in wrong)
        what = "its words name" if field == "text" else "what undoes it names"
        fuses = dict.fromkeys([step.target, *(f for n in wrong for f in n.fuses)])
        yield (
            field,
            f"Step {step.no} pulls {step.target}, but {what} {spelled}.",
            "Correct the words or the fuse. Another fuse that is pulled is a step of its own.",
            tuple(fuse for fuse in fuses if fuse in labels),
        )


def _in_words_only(
    step: Step, field: str, named: tuple[Named, ...], pulled: tuple[str, ...]
) -> Iterator[_Told]:
    """Any other step. It may speak of a fuse that a fuse step pulls, but not put it back in."""
    # What undoes a step may put back whatever was pulled.
    returns = field == "text" and any(word in step.text.casefold() for word in _PUTS_BACK)
    loose = [n for n in named if returns or not set(n.fuses) & set(pulled)]
    if not loose:
        return
    spelled = _listed(n.spelled for n in loose)
    back = returns and any(set(n.fuses) & set(pulled) for n in loose)
    yield (
        field,
        f"Step {step.no} names {spelled}, but is not a step that pulls a fuse.",
        "Enter it as what undoes the step that pulls it."
        if back
        else "Enter it as a step of its own that pulls this fuse.",
        tuple(dict.fromkeys(fuse for n in loose for fuse in n.fuses)),
    )


def _listed(spelled: Iterable[str]) -> str:
    return " and ".join(f"“{words}”" for words in spelled)


def respelled(words: str, *, was: str, now: str) -> str:
    """A step's words after its fuse changed from ``was`` to ``now``.

    Only words that were spelled out from the fuse are spelled anew; a source's own words are
    nobody's to rewrite.
    """
    if not was or not now or was == now:
        return words
    for shape in (PULL, *_BACK_AGAIN):
        if words.strip().rstrip(".") == shape.format(was):
            return shape.format(now)
    return words
