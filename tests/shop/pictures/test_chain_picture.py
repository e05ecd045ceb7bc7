"""The chain drawn: lengths of bar, the weakest marked, unknown never a bar, text in its room."""

import pytest
from django.template.loader import render_to_string

from shop.desk.pictures.chain import FULL, draw
from shop.desk.pictures.text import MONO
from vehicles.domain.ratings import Chain, Link, Part, judge_chain

LB = 0.45359237
# What a phone of 390 px leaves for a picture in a card.
PHONE = 330


def chain(*ratings: float | None, towed: float | None = 4_000) -> Chain:
    parts = [Part.COACH_ALLOWANCE, Part.RECEIVER, Part.TOW_BAR, Part.BASE_PLATE, Part.SAFETY_CABLES]
    links = [
        Link(part, None if pounds is None else pounds * LB)
        for part, pounds in zip(parts, ratings, strict=True)
    ]
    return judge_chain(None if towed is None else towed * LB, links, unit="lb")


def test_a_bar_is_as_long_as_its_rating() -> None:
    picture = draw(chain(5_000, 10_000, 7_500, 5_000, 6_000))
    assert [row.length for row in picture.rows] == [FULL / 2, FULL, 72.0, FULL / 2, 57.6]
    assert picture.towed.at == pytest.approx(FULL * 0.4)
    assert picture.towed.words == "Towed: 4,000 lb"


def test_the_weakest_is_marked_by_words_and_only_it() -> None:
    picture = draw(chain(5_000, 3_500, 7_500, 5_000, 6_000))
    assert [row.label for row in picture.rows if row.weakest] == ["Receiver"]
    weakest = next(row for row in picture.rows if row.weakest)
    assert weakest.tone == "bad"
    assert weakest.lines[0].text == "Weakest of those known, too weak"


def test_a_rating_that_nobody_read_has_no_bar() -> None:
    picture = draw(chain(5_000, None, 7_500, 5_000, 6_000))
    unknown = picture.rows[1]
    assert (unknown.known, unknown.length, unknown.tone) == (False, 0.0, "doubt")
    assert unknown.value == "? unknown"
    html = render_to_string("parts/chain_picture.svg.html", {"picture": picture, "name": "x"})
    assert html.count('class="bar"') == 4
    assert html.count('class="frame"') == 1


def test_without_a_weight_nothing_is_said_to_hold() -> None:
    picture = draw(chain(5_000, 5_000, 7_500, 5_000, 6_000, towed=None))
    assert picture.towed is None
    assert {row.tone for row in picture.rows} == {"doubt"}
    assert "The towed weight is unknown." in picture.words


def test_a_car_too_light_for_its_brake_unit_is_told_apart_from_a_weak_link() -> None:
    unit = Link(Part.BRAKE_UNIT, 8_000 * LB, least_kg=4_500 * LB)
    judged = judge_chain(4_000 * LB, [unit], expected=(), unit="lb")
    (row,) = draw(judged).rows
    assert row.lines[0].text.startswith("Weakest of those known, made for 4,500")
    assert "the car is too light for it" in row.full


def test_in_kilograms_as_well() -> None:
    picture = draw(chain(5_000, 10_000, 7_500, 5_000, 6_000), unit="kg")
    assert picture.towed.words == "Towed: 1,814 kg"
    assert picture.rows[0].value == "2,268 kg"


def test_fifteen_links_stand_clear_of_each_other_on_a_phone() -> None:
    """Down the page no row runs into the next, across no label into the rating beside it."""
    links = [
        Link(Part.BASE_PLATE, (3_000 + 500 * n) * LB, f"a part with a long name, number {n}")
        for n in range(10)
    ]
    links += [
        Link(Part.TOW_BAR, None, f"bar {n}", measure="read the label under the left arm of it")
        for n in range(5)
    ]
    picture = draw(judge_chain(4_000 * LB, links, expected=(), unit="lb"))
    assert len(picture.rows) == 15
    last = 0.0
    for row in picture.rows:
        tops = [row.label_y - 14, row.tick_y, *(line.y - 12 for line in row.lines)]
        ends = [row.label_y, row.tick_y + picture.tick_height, *(line.y for line in row.lines)]
        assert tops == sorted(tops)
        assert tops[0] >= last
        # Small text begins under the bar.
        assert row.lines[0].y - 12 >= row.bar_y + picture.bar_height
        last = max(ends)
        label = len(row.label) + (2 if row.weakest else 0)
        assert (label + 1 + len(row.value)) * 14 * MONO <= PHONE
        assert all(len(line.text) * 12.5 * MONO <= PHONE for line in row.lines)
    assert last <= picture.height


def test_it_is_titled_described_and_unique_by_name() -> None:
    picture = draw(chain(5_000, 3_500, None, 5_000, 6_000))
    html = render_to_string("parts/chain_picture.svg.html", {"picture": picture, "name": "pair"})
    assert 'role="img"' in html
    assert 'aria-labelledby="chain-title-pair chain-words-pair"' in html
    assert "<desc" in html
    assert "Weakest of those recorded: receiver, 3,500 lb" in html
