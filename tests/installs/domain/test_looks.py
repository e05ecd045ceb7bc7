"""What looks at parts mean for the judgement: blocking or not, and gone after the cure."""

import copy
from typing import Any

import pytest

from installs.domain.basis import basis_of, differences, fingerprint
from installs.domain.findings import Code, Finding
from installs.domain.looks import OUTCOMES, Duty
from installs.domain.needs import judge
from installs.domain.ownerwords import told_to_owner
from installs.domain.sheet import parse_sheet, sheet_faults
from installs.models import ComponentKind, Inspection
from tests.factories.sheets import sheet, step

LOOK = {"check": "pull", "name": "Pull and hold", "on": "2026-03-03", "result": "nothing"}
DOCUMENT = sheet(
    fuses=[{"id": "F01", "feed": "terminal:30", "rating_a": 15}],
    ports={"switch": ({"consequence": "Nothing brakes it"}, {"feed": "fuse:F01@supply"})},
    steps=(step(1, "key", value="acc"),),
)
DOCUMENT["kinds"]["unit"] = {"name": "Brake unit", "duty": "brake"}
DOCUMENT["fittings"].append({"id": "UNIT", "kind": "unit"})


def looked(*looks: dict[str, Any], duty: str = "breakaway") -> dict[str, Any]:
    document = copy.deepcopy(DOCUMENT)
    document["fittings"][0]["looks"] = [{**LOOK, **look} for look in looks]
    if duty:
        document["kinds"]["switch"]["duty"] = duty
    return document


def found(document: dict[str, Any]) -> tuple[Finding, ...]:
    looks = (Code.FAILED_LOOK, Code.WEAK_LOOK, Code.NO_BRAKE_UNIT)
    return tuple(f for f in judge(parse_sheet(document)).findings if f.code in looks)


def test_the_words_are_the_same_in_tables_and_judgement() -> None:
    assert set(OUTCOMES) == set(Inspection.Result.values)
    assert set(Duty) == set(ComponentKind.Duty.values)


@pytest.mark.parametrize(
    ("result", "duty", "code", "blocking"),
    [
        ("nothing", "breakaway", Code.FAILED_LOOK, True),
        ("failed", "brake", Code.FAILED_LOOK, True),
        ("failed", "coupling", Code.FAILED_LOOK, True),
        # Nobody said what hangs on it.
        ("failed", "", Code.FAILED_LOOK, True),
        ("failed", "other", Code.FAILED_LOOK, False),
        ("stiff", "breakaway", Code.WEAK_LOOK, False),
        ("weak", "brake", Code.WEAK_LOOK, False),
    ],
)
def test_a_bad_look_is_a_warning_and_blocks_where_nothing_works(
    result: str, duty: str, code: Code, blocking: bool
) -> None:
    (finding,) = found(looked({"result": result}, duty=duty))
    assert (finding.code, finding.blocking, finding.severity) == (code, blocking, "WARNING")
    assert finding.component == "SWITCH"
    assert "do “Pull and hold” again" in finding.cures[0].title
    assert ("Do not tow until this is cured" in finding.why) is blocking


def test_it_is_told_in_words_with_its_day() -> None:
    (finding,) = found(looked({}))
    assert finding.title == "switch did nothing on 3 March 2026 (Pull and hold)."
    assert finding.why.endswith("Nothing brakes it.")


@pytest.mark.parametrize("result", ["passed", "advice"])
def test_the_next_good_look_takes_it_away_whatever_the_order_on_the_sheet(result: str) -> None:
    good = {"on": "2026-03-09", "result": result}
    assert found(looked({}, good)) == found(looked(good, {})) == ()


def test_another_check_and_an_untested_look_cure_nothing() -> None:
    other = {"on": "2026-03-09", "result": "passed", "check": "eyes"}
    untested = {"on": "2026-03-09", "result": "not_tested"}
    (finding,) = found(looked({}, other, untested))
    assert finding.blocking
    assert found(looked(untested)) == ()


def test_a_look_at_the_vehicle_as_a_whole_blocks_too() -> None:
    (finding,) = found({**DOCUMENT, "looks": [LOOK]})
    assert (finding.blocking, finding.component) == (True, "")
    assert finding.title.startswith("The vehicle did nothing on 3 March 2026")


def test_a_failed_look_ends_a_proof_and_a_good_one_restores_it() -> None:
    def basis(document: dict[str, Any]) -> dict[str, Any]:
        parsed = parse_sheet(document)
        return basis_of(parsed, judge(parsed))

    before, failed = basis(DOCUMENT), basis(looked({}, duty=""))
    cured = basis(looked({}, {"on": "2026-03-09", "result": "passed"}, duty=""))
    assert fingerprint(failed) != fingerprint(before) == fingerprint(cured)
    assert differences(before, failed) == [
        "switch did nothing on 3 March 2026 (Pull and hold).",
    ]
    assert fingerprint(basis(looked({"result": "weak"}, duty=""))) == fingerprint(before)


def test_a_sheet_there_and_back_keeps_looks_and_duties() -> None:
    document = {**looked({}), "looks": [LOOK]}
    parsed = parse_sheet(document)
    assert parse_sheet(parsed.to_dict()) == parsed
    assert parsed.to_dict()["fittings"][0]["looks"] == [LOOK]


@pytest.mark.parametrize(
    ("look", "place", "sentence"),
    [
        ({"on": "2026-02-30"}, "/fittings/0/looks/0/on", "There is no day “2026-02-30”."),
        ({"on": "3 March"}, "/fittings/0/looks/0/on", '"3 March" does not fit: a day'),
        ({"result": "so-so"}, "/fittings/0/looks/0/result", '"so-so" is not one of: passed'),
        ({"check": ""}, "/fittings/0/looks/0/check", '"" does not fit: a check'),
    ],
)
def test_a_wrong_look_is_named_with_its_place(
    look: dict[str, Any], place: str, sentence: str
) -> None:
    (fault,) = sheet_faults(looked(look))
    assert fault.place == place
    assert fault.sentence.startswith(sentence)


@pytest.mark.parametrize("duty", ["breakaway", "stop_lamps"])
def test_what_works_a_brake_unit_is_nothing_without_one(duty: str) -> None:
    document = looked(duty=duty)
    assert found(document) == ()
    document["fittings"].pop()
    (finding,) = found(document)
    assert (finding.code, finding.blocking) == (Code.NO_BRAKE_UNIT, True)
    assert finding.title == "switch is fitted, but no brake unit."


def test_a_tow_bar_needs_no_brake_unit() -> None:
    document = looked(duty="coupling")
    document["fittings"].pop()
    assert found(document) == ()


def test_owners_read_what_blocks_in_plain_words() -> None:
    document = looked({})
    document["procedure"]["steps"].append(step(2, "fuse_out", target="F01"))
    document["fittings"][0]["ports"]["supply"]["feed"] = "fuse:F01"
    parsed = parse_sheet(document)
    assert told_to_owner(parsed, judge(parsed)) == [
        "Switch has no power while you tow.",
        "switch did nothing on 3 March 2026 (Pull and hold).",
    ]


def test_an_owner_of_a_vehicle_that_must_not_be_towed_reads_just_that() -> None:
    document = looked({})
    document["procedure"] |= {"verdict": "not_allowed", "steps": []}
    parsed = parse_sheet(document)
    assert told_to_owner(parsed, judge(parsed)) == ["It must not be towed on its own wheels."]


def test_what_nobody_knows_is_said_after_what_is_wrong() -> None:
    document = looked({})
    document["fittings"][0]["ports"] = {}
    parsed = parse_sheet(document)
    told = told_to_owner(parsed, judge(parsed))
    assert told[0].startswith("switch did nothing")
    assert told[1] == "Nobody has confirmed yet that switch has the power it needs while you tow."
