"""Two sources for one vehicle that disagree: say where, and go by the stricter until decided."""

from __future__ import annotations

from dataclasses import replace

from vehicles.domain.procedure import ALLOWED, NOT_ALLOWED, Limits, Procedure, Step

# Actions that decide what is alive or which way the wheels turn: no side of them is "stricter".
BINDING = ("key", "fuse_out", "disconnect_open", "charge_connect", "gear", "transfer_case")
WAITING = ("wait", "engine_run")


def conflicts(one: Procedure, two: Procedure) -> list[str]:
    """Where two procedures for the same vehicle differ, one sentence each."""
    found: list[str] = []
    if one.verdict != two.verdict:
        found.append(f"One says {_plain(one.verdict)}, the other {_plain(two.verdict)}.")
    if _binding(one) != _binding(two):
        found.append("They differ in key, gear, fuses, disconnect or charge line.")
    for action in WAITING:
        first, second = _minutes(one, action), _minutes(two, action)
        if first != second:
            verb = "wait" if action == "wait" else "run the engine"
            found.append(f"One has you {verb} {first:g} minutes, the other {second:g}.")
    for name in ("max_speed_mph", "max_distance_mi", "engine_run_every_h", "engine_run_minutes"):
        first_limit, second_limit = getattr(one.limits, name), getattr(two.limits, name)
        if first_limit != second_limit:
            words = name.replace("_", " ")
            found.append(f"{words}: {_figure(first_limit)} or {_figure(second_limit)}.")
    if one.limits.daily_repeat != two.limits.daily_repeat:
        found.append("Only one of them asks to repeat it every day.")
    return found


def stricter(one: Procedure, two: Procedure) -> Procedure:
    """The procedure to go by while the shop has not decided between two sources.

    Lower speeds and distances, shorter intervals and longer waits win. Where they differ in what
    is pulled, switched or engaged neither is stricter, and nothing is established.
    """
    for procedure in (one, two):
        if procedure.verdict == NOT_ALLOWED:
            return procedure
    for procedure in (one, two):
        if procedure.verdict != ALLOWED:
            return procedure
    note = " ".join(conflicts(one, two))
    if _binding(one) != _binding(two):
        return Procedure("not_established", note=note)
    longer = max(one, two, key=lambda p: sum(_minutes(p, action) for action in WAITING))
    return replace(longer, limits=_strictest(one.limits, two.limits), note=note)


def _binding(procedure: Procedure) -> list[tuple[str, str, object]]:
    return [(s.action, s.target, s.value) for s in procedure.steps if s.action in BINDING]


def _minutes(procedure: Procedure, action: str) -> float:
    return sum(_number(step) for step in procedure.steps if step.action == action)


def _number(step: Step) -> float:
    return float(step.value) if isinstance(step.value, (int, float)) else 0.0


def _strictest(one: Limits, two: Limits) -> Limits:
    return Limits(
        max_speed_mph=_least(one.max_speed_mph, two.max_speed_mph),
        max_distance_mi=_least(one.max_distance_mi, two.max_distance_mi),
        engine_run_every_h=_least(one.engine_run_every_h, two.engine_run_every_h),
        engine_run_minutes=max(one.engine_run_minutes or 0, two.engine_run_minutes or 0) or None,
        daily_repeat=one.daily_repeat or two.daily_repeat,
        direction=one.direction or two.direction,
    )


def _least(one: float | None, two: float | None) -> float | None:
    return min((figure for figure in (one, two) if figure is not None), default=None)


def _figure(value: float | None) -> str:
    return "no limit" if value is None else f"{value:g}"


def _plain(verdict: str) -> str:
    return verdict.replace("_", " ")
