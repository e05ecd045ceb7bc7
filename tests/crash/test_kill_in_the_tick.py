"""The tick is killed, or runs twice at once: each thing due is said once, and none is forgotten."""

import itertools
import json

import pytest

KEYS = itertools.count()


@pytest.fixture
def key() -> str:
    return f"tick{next(KEYS)}"


@pytest.mark.parametrize("point", ["before queue_mails", "after queue_mails", "before Heartbeat"])
def test_killed(place, key, point):
    place.run(
        {"work": "make_due", "key": key, "customers": 5},
        {"work": "say", "die": point, "batch": 2},
        killed=True,
    )
    told = place.tell(f"{key}-", {"work": "say"})
    assert (len(told["mails"]), told["ledger"], told["unsaid"]) == (5, 5, 0)


def test_two_ticks_at_once(place, key):
    place.run({"work": "make_due", "key": key, "customers": 60})
    children = [place.start({"work": "say", "wait": True, "batch": 7}) for _ in range(2)]
    reports = _together(children)
    assert sum(report["digests"] for report in reports) == 60
    assert [report["failed"] for report in reports] == [[], []]
    told = place.tell(f"{key}-")
    assert (len(told["mails"]), told["ledger"], told["unsaid"]) == (60, 60, 0)


def test_two_workers_share_the_mails_and_send_none_twice(place, key):
    place.run({"work": "make_due", "key": key, "customers": 60}, {"work": "say"})
    step = {"work": "deliver", "after_minutes": [0], "wait": True}
    _together([place.start(step) for _ in range(2)])
    told = place.tell(f"{key}-")
    assert {mail["state"] for mail in told["mails"]} == {"sent"}
    assert {place.sink.count[mail["message_id"]] for mail in told["mails"]} == {1}


def _together(children: list) -> list[dict]:
    """Let the children go at the same moment; return what each printed last."""
    for child in children:
        assert child.stdout.readline() == "ready\n"
    for child in children:
        child.stdin.write("go\n")
        child.stdin.flush()
    printed = []
    for child in children:
        out, err = child.communicate(timeout=120)
        assert child.returncode == 0, err
        printed.append(json.loads(out.splitlines()[-1]) if out else {})
    return printed
