"""The wires of fitted parts, each held against the fuse that guards it and the load it carries.

A port's wire is guarded by its own fuse, else by the fuse of the map that feeds it. What the wire
may carry comes from the shop's table by gauge, whose source is shown; a metric wire counts as the
next thinner gauge. Amps.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from installs.domain.ports import KindPort, PortFeed
from installs.domain.sheet import Sheet
from vehicles.domain.feedmap import FeedMap, Fuse
from vehicles.domain.fuse import FuseVerdict, fuse_verdict
from vehicles.domain.limit_set import Limits
from vehicles.domain.wire import Standard, area_mm2


def wire_verdicts(sheet: Sheet, limits: Limits) -> Iterator[tuple[str, str, FuseVerdict]]:
    """Yield ``component.port``, a label and the verdict, for every wire whose gauge is recorded."""
    table = limits.ampacity()
    for fitting in sheet.fittings:
        kind = sheet.kinds[fitting.kind]
        for port in kind.ports:
            connection = fitting.ports.ports.get(port.name)
            if connection is None:
                continue
            carries = wire_carries(connection.wire, table)
            guard = guard_a(connection, sheet.feed_map)
            if carries is None or guard is None:
                continue
            label = f"{sheet.part_name(fitting)}, {port.name.replace('_', ' ')}"
            verdict = fuse_verdict(guard, _load(port), carries, share=limits.share)
            yield f"{fitting.id}.{port.name}", f"The wire to {label}", verdict


def guard_a(connection: PortFeed, feed_map: FeedMap) -> float | None:
    """The rating of the fuse that guards a port's wire; None where none is known to."""
    if connection.own_fuse_a is not None:
        return connection.own_fuse_a
    fuse = feed_map.elements.get(connection.feed)
    return fuse.rating_a if isinstance(fuse, Fuse) else None


def wire_carries(wire: Mapping[str, float] | None, table: Mapping[int, float]) -> float | None:
    """What a recorded wire may carry by ``table`` (gauge to amps); None where it has no row."""
    if not wire:
        return None
    if "awg" in wire:
        gauge = wire["awg"]
        return table.get(int(gauge)) if float(gauge).is_integer() else None
    if "mm2" not in wire:
        return None
    thinner = [g for g in table if area_mm2(Standard.SAE, gauge=g) <= wire["mm2"]]
    return max((table[gauge] for gauge in thinner), default=None)


def _load(port: KindPort) -> float | None:
    """The lasting load: what it draws at work, else its peak."""
    return port.peak_a if port.working_a is None else port.working_a
