"""The feed sheet: judged ports as a drawing, in plain data for parts/feed_sheet.svg.html.

``build(answers, state=..)`` takes a list of dicts, one for each port:

    part    "Brake unit"
    port    "supply"                           may be empty
    demand  "ON", "OFF", "not recorded" or ""  what the part needs in this state
    value   "ON", "OFF", "TIMED", "CONDITIONAL" or "UNKNOWN"
    words   "TIMED, until 20 min after key-off"    the answer read out; may be empty
    verdict "good", "bad", "doubt" or "plain"  may be left out: then demand and value decide
    volts   ("12.30 V (12.10 to 12.45) reckoned", ..): what is known of the volts here; may be
            left out
    links   [{"label": "F08", "sub": "is out (step 5)", "status": "dead", "kind": "fuse"}, ..]

``links`` run from the source to the last point before the port. ``status`` is what the link does
by itself: ``live``, ``dead`` or ``doubt``. ``kind`` is ``source``, ``terminal``, ``fuse`` or
anything else for a plain box. ``mark`` is the word over a link that is not live (``TIMED``), in
place of BREAK and IN DOUBT. ``link_of`` makes a link from what the judgement says of one.

Ports that share the beginning of their way share its drawing. No Django, no clock, no rows.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from .feed_shapes import BOX, GAP, PORT_WIDTH, Line, Node, Port, Sheet, Wire
from .text import clip
from .text import lines as wrapped

STATUSES = ("live", "doubt", "dead")  # each one beats those before it along a way
VALUES = ("ON", "OFF", "TIMED", "CONDITIONAL", "UNKNOWN")
PLAIN_VALUES = ("ON", "OFF")
TONES = ("good", "bad", "doubt", "plain")
MARKS = {"dead": "BREAK", "doubt": "IN DOUBT"}
KINDS = {"battery": "source", "bus": "source", "coach": "source", "own": "source"}

LABEL_WIDTH, SUB_WIDTH = 8.7, 7.75  # of a mono character at 14 px and 12.5 px, the widest in use
LINE = 15
EDGE = 12
LABEL_CHARS, SUB_CHARS = 16, 17
SUB_LINES = 3
PORT_CHARS, PORT_NAME_CHARS = 35, 31


# The lines of a port's name, of what is added, and of its volts.
PortText = tuple[list[str], list[str], list[str]]


@dataclass(slots=True)
class _Branch:
    """A link shared by one or more ways, the ports right behind it, and what follows it."""

    link: Mapping[str, str]
    depth: int
    own: str
    status: str
    ports: list[int] = field(default_factory=list)
    next: list["_Branch"] = field(default_factory=list)

    def order(self) -> list[int]:
        """Every port behind it, from the top row down."""
        return [*self.ports, *(port for branch in self.next for port in branch.order())]

    def all(self) -> list["_Branch"]:
        """Itself and every link behind it."""
        return [self, *(found for branch in self.next for found in branch.all())]


def link_of(point: str, words: str, value: str) -> dict[str, str]:
    """Turn one link of a judged chain into a link of the sheet: ``fuse:F08`` becomes F08."""
    kind, _, name = point.partition(":")
    name, _, side = name.partition("@")
    label = name or {"own": "own battery", "unknown": "?"}.get(kind, kind)
    sub = words.removeprefix(f"terminal {label}").removeprefix(label).lstrip(",: ")
    if kind == "fuse" and value == "ON":
        sub = sub.removesuffix("is in").strip("() ")  # on a drawing an ampere says it is there
    if side == "supply":
        sub = f"supply side; {sub}" if sub else "supply side"
    return {
        "label": label,
        "sub": sub,
        "status": {"ON": "live", "OFF": "dead"}.get(value, "doubt"),
        "kind": KINDS.get(kind, kind),
        "mark": {"ON": "", "OFF": "BREAK"}.get(value, value),
    }


def build(answers: Sequence[Mapping[str, Any]], *, state: str) -> Sheet:
    """Lay the ports and their ways out; ``state`` (``drive``, ``tow``, ..) goes into the title."""
    roots, bare = _grow(answers)
    order = [port for root in roots for port in root.order()] + bare
    texts = {port: _port_text(answers[port]) for port in order}
    branches = [branch for root in roots for branch in root.all()]
    left = _columns(branches)
    rows = _rows(branches, texts, order)
    nodes = [_node(branch, left, rows) for branch in branches]
    wires = [
        wire
        for branch, node in zip(branches, nodes, strict=True)
        for wire in _wires(branch, node, left, rows)
    ]
    wires += [Wire(f"M{left[-1] - GAP:g} {rows[port]:g}H{left[-1]:g}", "doubt") for port in bare]
    ports = [_port(answers[port], texts[port], left[-1], rows[port]) for port in order]
    lowest = [port.top + port.height for port in ports]
    lowest += [line.y for node in nodes for line in node.lines]
    return Sheet(
        title=f"Feeds in the {state} state",
        words=" ".join(port.full for port in ports) or "No port is recorded.",
        width=round(left[-1] + PORT_WIDTH + EDGE),
        height=round(max(lowest, default=0) + EDGE),
        nodes=tuple(nodes),
        # Solid ink goes over dashes where two ways leave one point.
        wires=tuple(sorted(wires, key=lambda wire: wire.status == "live")),
        ports=tuple(ports),
    )


def _grow(answers: Sequence[Mapping[str, Any]]) -> tuple[list[_Branch], list[int]]:
    """Merge equal beginnings into a tree; return its roots, and the ports without any link."""
    roots: list[_Branch] = []
    bare: list[int] = []
    for number, answer in enumerate(answers):
        level, status, end = roots, "live", bare
        for depth, link in enumerate(answer["links"]):
            own = link["status"] if link["status"] in STATUSES else "doubt"
            status = max(status, own, key=STATUSES.index)
            branch = next((known for known in level if known.link == link), None)
            if branch is None:
                branch = _Branch(link, depth, own, status)
                level.append(branch)
            level, end = branch.next, branch.ports
        end.append(number)
    return roots, bare


def _columns(branches: Sequence[_Branch]) -> list[float]:
    """The left edge of each column, and last that of the ports."""
    widths: list[float] = []
    for branch in sorted(branches, key=lambda branch: branch.depth):
        widths += [0] * (branch.depth + 1 - len(widths))
        widths[branch.depth] = max(widths[branch.depth], _room(branch))
    left: list[float] = [EDGE]
    for width in widths:
        left.append(left[-1] + width + GAP)
    return left if widths else [EDGE + GAP]


def _rows(
    branches: Sequence[_Branch], texts: Mapping[int, PortText], order: Sequence[int]
) -> dict[int, float]:
    """The height at which each port stands: far enough from the one above for all small text."""
    above, below = dict.fromkeys(order, 0.0), dict.fromkeys(order, 0.0)
    for port in order:
        above[port] = below[port] = _port_height(*texts[port]) / 2
    for branch in branches:
        row = _row(branch)
        below[row] = max(below[row], BOX / 2 + len(_subs(branch)) * LINE)
        above[row] = max(above[row], BOX / 2 + (24 if branch.own != "live" else 12))
    heights: dict[int, float] = {}
    edge = 4.0
    for port in order:
        heights[port] = edge + above[port]
        edge = heights[port] + below[port] + 12
    return heights


def _row(branch: _Branch) -> int:
    """The port on whose row a link stands: the middle one, so that its wire runs straight."""
    behind = branch.order()
    return behind[(len(behind) - 1) // 2]


def _room(branch: _Branch) -> float:
    """The width that a link and its small text take."""
    return max([_box(branch), *(len(line) * SUB_WIDTH for line in _subs(branch))])


def _box(branch: _Branch) -> float:
    return max(56.0, len(clip(branch.link["label"], LABEL_CHARS)) * LABEL_WIDTH + 26)


def _node(branch: _Branch, left: Sequence[float], rows: Mapping[int, float]) -> Node:
    """Set a link in the middle of its column, its small text under it."""
    label, sub = branch.link["label"], branch.link.get("sub", "")
    room = left[branch.depth + 1] - GAP - left[branch.depth]
    y, width = rows[_row(branch)], _box(branch)
    faulty = branch.own != "live"
    under = y + (18 if branch.link.get("kind") == "terminal" else BOX / 2 + 14)
    return Node(
        label=clip(label, LABEL_CHARS),
        full=f"{label}: {sub}" if sub else label,
        kind=branch.link.get("kind", ""),
        status=branch.status,
        faulty=faulty,
        mark=(branch.link.get("mark") or MARKS[branch.own]) if faulty else "",
        x=left[branch.depth] + (room - width) / 2,
        y=y,
        width=width,
        lines=tuple(Line(text, under + n * LINE) for n, text in enumerate(_subs(branch))),
    )


def _wires(
    branch: _Branch, node: Node, left: Sequence[float], rows: Mapping[int, float]
) -> list[Wire]:
    """The wires that leave a link: to the ports right behind it and to the next links."""
    turn = left[branch.depth + 1] - GAP / 2
    start = node.middle if node.kind == "terminal" else node.x + node.width
    ends = [(rows[port], left[-1]) for port in branch.ports]
    for follower in branch.next:
        after = _node(follower, left, rows)
        ends.append((after.y, after.middle if after.kind == "terminal" else after.x))
    wires = []
    for y, end in ends:
        bend = "" if y == node.y else f"H{turn:g}V{y:g}"
        wires.append(Wire(f"M{start:g} {node.y:g}{bend}H{end:g}", branch.status))
    return wires


def _port(answer: Mapping[str, Any], text: PortText, x: float, y: float) -> Port:
    """Set a port at the right edge, with its answer and what it wants."""
    names, lines, volts = text
    value = answer["value"] if answer["value"] in VALUES else "UNKNOWN"
    demand = answer.get("demand") or ""
    height = _port_height(*text)
    top = y - height / 2
    after = top + 42 + len(names) * LINE
    return Port(
        names=tuple(Line(words, top + 20 + n * LINE) for n, words in enumerate(names)),
        full=_sentence(_name(answer), value, answer),
        value=value,
        wants=_wants(demand),
        tone=_tone(value, demand, answer.get("verdict", "")),
        x=x,
        y=y,
        height=height,
        lines=tuple(Line(words, after + n * LINE) for n, words in enumerate(lines)),
        volts=tuple(
            Line(words, after + n * LINE) for n, words in enumerate(volts, start=len(lines))
        ),
    )


def _name(answer: Mapping[str, Any]) -> str:
    return ", ".join(text for text in (answer["part"], answer.get("port")) if text)


def _port_text(answer: Mapping[str, Any]) -> PortText:
    volts = [line for said in answer.get("volts", ()) for line in wrapped(said, PORT_CHARS)]
    return wrapped(_name(answer), PORT_NAME_CHARS), wrapped(_rest(answer), PORT_CHARS), volts


def _port_height(names: Sequence[str], lines: Sequence[str], volts: Sequence[str]) -> float:
    return 37 + (len(names) + len(lines) + len(volts)) * LINE


def _wants(demand: str) -> str:
    if not demand:
        return ""
    return f"wants {demand}" if demand in PLAIN_VALUES else f"need {demand}"


def _tone(value: str, demand: str, verdict: str) -> str:
    """As judged, else good only for the very word that is wanted; UNKNOWN is never good."""
    if value == "UNKNOWN":
        return "doubt"
    if verdict in TONES:
        return verdict
    if value not in PLAIN_VALUES or demand not in {*PLAIN_VALUES, ""}:
        return "doubt"
    if not demand:
        return "plain"
    return "good" if value == demand else "bad"


def _sentence(name: str, value: str, answer: Mapping[str, Any]) -> str:
    """A port for those who do not see the drawing: its answer, its need, where its way ends."""
    said = [f"{name}: {value}"]
    if _rest(answer):
        said.append(_rest(answer))
    if answer.get("demand"):
        said.append(_wants(answer["demand"]))
    said += answer.get("volts", ())
    for status, words in (("dead", "break at"), ("doubt", "in doubt at")):
        said += [f"{words} {x['label']}" for x in answer["links"] if x["status"] == status]
    return ", ".join(said) + "."


def _rest(answer: Mapping[str, Any]) -> str:
    """What the answer says besides its word."""
    rest = str(answer.get("words") or "").removeprefix(answer["value"]).lstrip(", ")
    return rest or ("" if answer["links"] else "nobody recorded how it is fed")


def _subs(branch: _Branch) -> list[str]:
    return wrapped(branch.link.get("sub", ""), SUB_CHARS, SUB_LINES)
