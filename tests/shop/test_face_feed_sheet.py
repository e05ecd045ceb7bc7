"""The feed sheet: what is drawn live, dead or in doubt, and where."""

from itertools import combinations, pairwise
from typing import Any

import pytest
from django.template.loader import render_to_string

from shop.desk.pictures.feed_sheet import build, link_of
from vehicles.domain.feedmap import FeedMap
from vehicles.domain.feeds import LivePaths
from vehicles.domain.state import State

BATTERY = {"label": "battery", "sub": "", "status": "live", "kind": "source"}


def link(label: str, status: str = "live", sub: str = "", kind: str = "") -> dict[str, str]:
    return {"label": label, "sub": sub, "status": status, "kind": kind}


def port(
    part: str, links: list[dict[str, str]], value: str = "ON", demand: str = "ON", **more: Any
) -> dict[str, Any]:
    return {"part": part, "port": "supply", "value": value, "demand": demand, "links": links} | more


def test_nothing_to_draw_is_a_sheet_that_says_so() -> None:
    sheet = build([], state="tow")
    assert sheet.title == "Feeds in the tow state"
    assert sheet.words == "No port is recorded."
    assert not sheet.nodes


def test_a_break_kills_what_follows_and_only_that() -> None:
    """Accessory fuse pulled: its supply stays live, the outlet behind it and the unit are dead."""
    way = [BATTERY, link("F08", "dead", "is out (step 5)", "fuse"), link("console outlet")]
    sheet = build([port("Brake unit", way, "OFF")], state="tow")
    battery, fuse, outlet = sheet.nodes
    assert (battery.status, fuse.status, outlet.status) == ("live", "dead", "dead")
    assert [node.faulty for node in sheet.nodes] == [False, True, False]
    assert fuse.mark == "BREAK"
    assert fuse.cross
    assert not outlet.cross
    assert sorted(wire.status for wire in sheet.wires) == ["dead", "dead", "live"]
    assert sheet.ports[0].tone == "bad"
    assert sheet.words == "Brake unit, supply: OFF, wants ON, break at F08."


def test_doubt_stays_doubt_until_a_break() -> None:
    way = [link("30", "doubt", "nobody measured"), link("F21"), link("F22", "dead"), link("lamp")]
    sheet = build([port("Lamp", way, "OFF")], state="tow")
    assert [node.status for node in sheet.nodes] == ["doubt", "doubt", "dead", "dead"]


def test_an_unheard_of_status_is_doubt() -> None:
    sheet = build([port("Lamp", [link("30", "fine")])], state="tow")
    assert sheet.nodes[0].status == "doubt"


@pytest.mark.parametrize(
    ("value", "demand", "tone"),
    [
        ("ON", "ON", "good"),
        ("OFF", "OFF", "good"),
        ("ON", "OFF", "bad"),
        ("OFF", "ON", "bad"),
        ("OFF", "", "plain"),
        ("OFF", "not recorded", "doubt"),
        ("TIMED", "ON", "doubt"),
        ("CONDITIONAL", "ON", "doubt"),
        ("UNKNOWN", "ON", "doubt"),
        ("UNKNOWN", "", "doubt"),
        ("whatever", "ON", "doubt"),
    ],
)
def test_good_is_only_what_is_wanted(value: str, demand: str, tone: str) -> None:
    sheet = build([port("Relay", [BATTERY], value, demand)], state="tow")
    assert sheet.ports[0].tone == tone


def test_a_verdict_overrules_the_guess_but_never_unknown() -> None:
    timed = build([port("Unit", [BATTERY], "TIMED", verdict="good")], state="tow")
    unknown = build([port("Unit", [BATTERY], "UNKNOWN", verdict="good")], state="tow")
    assert timed.ports[0].tone == "good"
    assert unknown.ports[0].tone == "doubt"


def test_a_port_that_nobody_traced_hangs_in_doubt() -> None:
    sheet = build([port("Horn", [], "UNKNOWN")], state="tow")
    assert sheet.ports[0].lines[0].text == "nobody recorded how it is fed"
    assert [wire.status for wire in sheet.wires] == ["doubt"]


def test_equal_beginnings_are_drawn_once() -> None:
    ways = [[BATTERY, link("F21")], [BATTERY, link("F27"), link("outlet")], [BATTERY, link("F21")]]
    sheet = build([port(f"Part {n}", way) for n, way in enumerate(ways)], state="drive")
    assert [node.label for node in sheet.nodes] == ["battery", "F21", "F27", "outlet"]
    assert [port.names[0].text for port in sheet.ports] == [
        "Part 0, supply", "Part 2, supply", "Part 1, supply",
    ]  # fmt: skip


def test_a_long_name_keeps_its_port() -> None:
    """Two ports of one part differ at the end of the name only."""
    sheet = build([port("Breakaway switch with its own battery", [BATTERY])], state="tow")
    assert [line.text for line in sheet.ports[0].names] == [
        "Breakaway switch with its own", "battery, supply",
    ]  # fmt: skip


def test_the_volts_of_a_port_are_written_under_its_answer_and_read_out() -> None:
    told = ["11.9 V (11.2 to 12.4) computed: enough", "12.4 V measured: enough"]
    (drawn,) = build([port("Unit", [BATTERY], volts=told)], state="tow").ports
    assert [line.text for line in drawn.volts] == [
        "11.9 V (11.2 to 12.4) computed:", "enough", "12.4 V measured: enough",
    ]  # fmt: skip
    assert drawn.volts[0].y > drawn.value_y
    assert drawn.volts[-1].y < drawn.top + drawn.height
    assert "12.4 V measured: enough" in drawn.full


def test_fifteen_ports_stand_clear_of_each_other() -> None:
    words = "CONDITIONAL, only while the coach's ignition is on and its solenoid is closed"
    answers = [
        port(
            f"Part number {n} of the car",
            [BATTERY, link(f"F{n // 2:02}", "doubt" if n % 3 else "live", "a long story " * 3)],
            "CONDITIONAL",
            words=words,
            volts=["11.9 V (11.2 to 12.4) computed: enough", "12.4 V measured: too low"],
        )
        for n in range(15)
    ]
    sheet = build(answers, state="breakaway")
    assert len(sheet.ports) == 15
    boxes = [(p.top, p.top + p.height) for p in sheet.ports]
    assert all(above[1] <= below[0] for above, below in pairwise(boxes))
    assert boxes[0][0] >= 0
    assert boxes[-1][1] <= sheet.height
    assert all(p.x + p.width <= sheet.width for p in sheet.ports)
    assert all(line.y <= sheet.height for node in sheet.nodes for line in node.lines)
    # No link's box or small text runs into another one's.
    spans = [
        (n.x, n.top, n.x + n.width, n.lines[-1].y if n.lines else n.y + 17) for n in sheet.nodes
    ]
    for one, two in combinations(spans, 2):
        apart = one[2] <= two[0] or two[2] <= one[0] or one[3] <= two[1] or two[3] <= one[1]
        assert apart


def test_the_same_answers_give_the_same_drawing() -> None:
    answers = [port("A", [BATTERY, link("F1")]), port("B", [link("own battery")])]
    assert build(answers, state="tow") == build(answers, state="tow")


@pytest.mark.parametrize(
    ("point", "words", "value", "label", "sub", "status", "kind"),
    [
        ("fuse:F08", "F08 is out (step 5)", "OFF", "F08", "is out (step 5)", "dead", "fuse"),
        ("fuse:F21", "F21 (15 A) is in", "ON", "F21", "15 A", "live", "fuse"),
        ("terminal:15R", "terminal 15R, key ACC", "ON", "15R", "key ACC", "live", "terminal"),
        ("own", "its own battery", "ON", "own battery", "its own battery", "live", "source"),
        ("unknown", "nobody recorded", "UNKNOWN", "?", "nobody recorded", "doubt", "unknown"),
        (
            "fuse:F33@supply",
            "F33: assumed",
            "TIMED",
            "F33",
            "supply side; assumed",
            "doubt",
            "fuse",
        ),
    ],
)
def test_a_link_of_the_judgement_becomes_a_link_of_the_sheet(
    point: str, words: str, value: str, label: str, sub: str, status: str, kind: str
) -> None:
    made = link_of(point, words, value)
    assert (made["label"], made["sub"]) == (label, sub)
    assert (made["status"], made["kind"]) == (status, kind)


def test_a_judged_way_is_drawn_with_its_break() -> None:
    """The whole way from a judged feed map to the page: outlet behind a pulled accessory fuse."""
    feed_map = FeedMap.from_dict(
        {
            "known": "measured",
            "terminals": [{"id": "15R"}],
            "fuses": [{"id": "F08", "feed": "terminal:15R", "rating_a": 7.5}],
            "outlets": [{"id": "console", "feed": "fuse:F08"}],
        }
    )
    answer = LivePaths(feed_map, State("tow", key="acc", fuses_out={"F08": 5})).port(
        "outlet:console"
    )
    links = [link_of(each.point, each.words, each.value.value) for each in answer.chain]
    sheet = build([port("Brake unit", links, answer.value.value, words=answer.words)], state="tow")
    assert [node.label for node in sheet.nodes if node.faulty] == ["F08"]
    html = render_to_string("parts/feed_sheet.svg.html", {"sheet": sheet})
    assert "<title" in html
    assert "break at F08" in html
    assert ">BREAK</text>" in html
    assert 'class="wire dead"' in html
