"""A worker is killed at each step around a send: nothing is lost, at most one repeat, never two.

The repeat carries the same Message-ID, by which a receiver can tell. What must never be repeated is
put before a person instead.
"""

import itertools
import threading

import pytest

from .conftest import NEVER, REPEAT, Place

KEYS = itertools.count()
# Where the worker dies: how often the message then arrives in all, and in which state it ends.
POINTS = [
    ("before claim_mail", REPEAT, 1, "sent"),
    ("after claim_mail", REPEAT, 1, "sent"),
    ("amid the message", REPEAT, 1, "sent"),
    ("before the answer", REPEAT, 2, "sent"),
    ("before mark_sent", REPEAT, 2, "sent"),
    ("after mark_sent", REPEAT, 1, "sent"),
    ("before claim_mail", NEVER, 1, "sent"),
    ("after claim_mail", NEVER, 0, "unsure"),
    ("amid the message", NEVER, 0, "unsure"),
    ("before the answer", NEVER, 1, "unsure"),
    ("before mark_sent", NEVER, 1, "unsure"),
    ("after mark_sent", NEVER, 1, "sent"),
]


@pytest.fixture
def key() -> str:
    return f"key {next(KEYS)} "


def dies(place: Place, *steps: dict, point: str, at_minute: int = 0) -> None:
    """Run the steps and a round of sending that ends in death at `point`."""
    last = {"work": "deliver", "after_minutes": [at_minute], "die": point}
    if point != "before the answer":
        place.run(*steps, last, killed=True)
        return
    started = threading.Event()

    def kill() -> None:
        # The server holds the whole message; its answer never gets out.
        started.wait(60)
        child.kill()
        child.wait(60)

    place.sink.on_data = kill
    child = place.start(*steps, last)
    started.set()
    child.communicate(timeout=120)
    place.sink.on_data = None
    assert child.returncode == -9


@pytest.mark.parametrize(("point", "after_crash", "arrivals", "state"), POINTS)
def test_killed(place, key, point, after_crash, arrivals, state):
    dies(place, {"work": "queue", "key": key, "after_crash": after_crash}, point=point)
    (mail,) = place.tell(key, {"work": "deliver", "after_minutes": [1, 12, 24, 36]})["mails"]
    assert mail["state"] == state
    assert place.sink.count[mail["message_id"]] == arrivals


def test_killed_twice_after_the_server_took_it(place, key):
    """The second death leaves it to a person: two copies may be out, a third must not follow."""
    queued = {"work": "queue", "key": key, "after_crash": REPEAT}
    dies(place, queued, point="before mark_sent")
    dies(place, point="before mark_sent", at_minute=12)
    (mail,) = place.tell(key, {"work": "deliver", "after_minutes": [24, 36]})["mails"]
    assert (mail["state"], mail["crashes"]) == ("unsure", 2)
    assert place.sink.count[mail["message_id"]] == 2
