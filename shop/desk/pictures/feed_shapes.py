"""What a feed sheet is drawn of: lines of text, wires, links and ports at their places.

Lengths are units of the drawing, which are pixels while it is not scaled. The template only
writes down what stands here.
"""

from dataclasses import dataclass

BOX = 34  # height of a link's box
GAP = 40  # between columns; the wires turn in its middle
PORT_WIDTH = 300
SIZES = (780, 1060)  # up to which a drawing is small and medium: drawings.css scales by that


@dataclass(frozen=True, slots=True)
class Line:
    """A line of small text at its place."""

    text: str
    y: float


@dataclass(frozen=True, slots=True)
class Wire:
    """A stretch of wire: an SVG path and ``live``, ``dead`` or ``doubt``."""

    path: str
    status: str


@dataclass(frozen=True, slots=True)
class Node:
    """A link at its place. ``faulty``: it is this link itself that breaks or is in doubt."""

    label: str
    full: str
    kind: str
    status: str
    faulty: bool
    mark: str
    x: float
    y: float
    width: float
    lines: tuple[Line, ...]
    height: int = BOX

    @property
    def top(self) -> float:
        return self.y - BOX / 2

    @property
    def middle(self) -> float:
        return self.x + self.width / 2

    @property
    def label_y(self) -> float:
        """On the wire's level in a box, above the wire at a terminal."""
        return self.y - 11 if self.kind == "terminal" else self.y + 5

    @property
    def mark_y(self) -> float:
        return self.y - (27 if self.kind == "terminal" else BOX / 2 + 6)

    @property
    def strip(self) -> str:
        """The two caps of a fuse, drawn inside its box."""
        left, right = self.x + 7, self.x + self.width - 7
        return f"M{left:g} {self.top:g}v{BOX}M{right:g} {self.top:g}v{BOX}"

    @property
    def cross(self) -> str:
        """The cross on the wire behind a break; nothing elsewhere."""
        if not (self.faulty and self.status == "dead"):
            return ""
        x = self.x + self.width + GAP / 4
        return f"M{x - 5:g} {self.y - 5:g}l10 10m0-10l-10 10"


@dataclass(frozen=True, slots=True)
class Port:
    """A port at its place, with its answer. ``tone``: ``good``, ``bad``, ``doubt`` or ``plain``.

    ``names`` are the lines of its name, ``lines`` what is to be said besides its answer, ``volts``
    what is known of the volts there.
    """

    names: tuple[Line, ...]
    full: str
    value: str
    wants: str
    tone: str
    x: float
    y: float
    height: float
    lines: tuple[Line, ...]
    volts: tuple[Line, ...] = ()
    width: int = PORT_WIDTH

    @property
    def shape(self) -> str:
        return self.value.lower()

    @property
    def top(self) -> float:
        return self.y - self.height / 2

    @property
    def text_x(self) -> float:
        return self.x + 18

    @property
    def value_x(self) -> float:
        return self.x + 38

    @property
    def value_y(self) -> float:
        return self.names[-1].y + 20

    @property
    def shape_y(self) -> float:
        return self.value_y - 12


@dataclass(frozen=True, slots=True)
class Sheet:
    """The drawing. ``words`` says in sentences what it shows; ``size`` is small, medium, large."""

    title: str
    words: str
    width: int
    height: int
    nodes: tuple[Node, ...]
    wires: tuple[Wire, ...]
    ports: tuple[Port, ...]

    @property
    def size(self) -> str:
        narrow, wide = SIZES
        return "small" if self.width <= narrow else "large" if self.width > wide else "medium"
