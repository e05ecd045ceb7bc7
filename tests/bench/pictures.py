"""How long the four pictures of a combination take, laid out and written down."""

from __future__ import annotations

from typing import Any

from django.template.loader import render_to_string

from installs.domain.needs import judge
from installs.domain.reckoned import reckon
from installs.domain.sheet import parse_sheet
from shop.desk.pictures import battery_curve, chain, feed_sheet, fuse_grid
from shop.desk.present.feeds import link_row
from tests.bench.judging import vehicle_sheet
from tests.bench.numbers import Figure, best_of, figure
from vehicles.domain.bands import Band
from vehicles.domain.ratings import Chain, Link, Part, judge_chain

PICTURES_MS = 30.0
FUSES, PARTS = 30, 15


def a_chain() -> Chain:
    """Every link, and fifteen of them together."""
    links = [Link(part, 2000.0 + 100 * at) for at, part in enumerate(Part)]
    links += [Link(Part.BASE_PLATE, 2500.0, f"plate {at}") for at in range(PARTS - len(links))]
    return judge_chain(1800, links)


def a_box() -> dict[str, Any]:
    """Thirty fuses, every sixth of them pulled."""
    positions = [
        {"id": f"F{at:02}", "rating": "15 A", "feeds": "horn", "row": at // 6 + 1,
         "col": at % 6 + 1, "pulled": at if at % 6 == 1 else False, "tapped": "", "known": True}
        for at in range(FUSES)
    ]  # fmt: skip
    return {"name": "dash", "positions": positions}


def bench_pictures(database: str) -> list[Figure]:
    """Feed sheet with volts, fuse grid, chain and battery curve of one vehicle, as SVG."""
    if database != "sqlite":
        return []
    sheet = parse_sheet(vehicle_sheet())
    judgement = judge(sheet)
    numbers = reckon(sheet, views=judgement.views)
    judged, box = a_chain(), a_box()

    def answers() -> list[dict[str, Any]]:
        rows = []
        for port in judgement.ports:
            found = numbers.port("tow", port.component, port.port)
            volts = [found.volts.words("V", 1)] if found and found.volts else []
            answer = port.answers["tow"]
            rows.append(
                {"part": port.label, "port": port.port, "demand": "ON", "value": answer.value.value,
                 "words": answer.words, "volts": volts,
                 "links": [link_row(link) for link in answer.chain]}
            )  # fmt: skip
        return rows

    def four() -> None:
        drawn = {
            "feed_sheet": {"sheet": feed_sheet.build(answers(), state="tow")},
            "fuse_grid": {"grid": fuse_grid.draw(box)},
            "chain_picture": {"picture": chain.draw(judged)},
            "battery_curve": {
                "curve": battery_curve.draw(Band(12, 9, 15), unit="h", span=18, title="battery")
            },
        }
        for name, context in drawn.items():
            render_to_string(f"parts/{name}.svg.html", {**context, "name": "bench"})

    four()
    scale = f"{len(judgement.ports)} ports, {FUSES} fuses, {PARTS} links"
    return [figure("four pictures of one vehicle", best_of(four), "ms", PICTURES_MS, scale)]
