"""`manage.py judge FILE`: judged without a database, wrong sheets refused with every fault."""

import io
import json
import sys

import pytest
from django.core.management import call_command

from tests.factories.sheets import sheet, step

GOOD = sheet(
    fuses=[{"id": "F21", "feed": "terminal:30", "rating_a": 15}],
    loads=[{"id": "eps", "name": "steering assist", "feed": "fuse:F21", "needs": {"tow": "on"}}],
    ports={"unit": ({}, {"feed": "fuse:F21"})},
)
BLOCKED = {**GOOD, "procedure": {**GOOD["procedure"], "steps": [
    step(1, "key", value="acc"), step(5, "fuse_out", target="F21"),
]}}  # fmt: skip


def run(*args):
    """Call the command: (exit code, output, errors)."""
    out, err = io.StringIO(), io.StringIO()
    with pytest.raises(SystemExit) as left:
        call_command("judge", *args, stdout=out, stderr=err)
    return left.value.code, out.getvalue(), err.getvalue()


@pytest.fixture
def write(tmp_path):
    def to_file(content):
        path = tmp_path / "sheet.json"
        data = content if isinstance(content, (str, bytes)) else json.dumps(content)
        path.write_bytes(data if isinstance(data, bytes) else data.encode())
        return str(path)

    return to_file


def test_a_sheet_without_blocking_findings_leaves_with_0(write):
    code, out, err = run(write(GOOD))
    assert (code, err) == (0, "")
    assert "Nothing on this sheet blocks the sign-off." in out
    assert "the makers' instructions come first" in out


def test_a_blocked_sheet_leaves_with_1_and_says_what_why_and_what_helps(write):
    code, out, _ = run(write(BLOCKED))
    assert code == 1
    lines = out.splitlines()
    assert lines[0] == "2019 Alder Crestline"
    tow = lines.index("  tow                     OFF                     wants ON  <-- not met")
    assert lines[tow + 1] == (
        "      the car's battery, positive post > terminal 30, live in every key position > "
        "F21 is out (step 5) [OFF] > ground at the body"
    )
    assert "WARNING (blocks the sign-off): unit, supply: dead in tow." in lines
    assert "  Why: F21 is out (step 5)." in lines
    assert "  Cure 1: Move its tap to F21's supply side" in lines
    assert lines[-1] == "2 findings block the sign-off."


def test_json_carries_answers_chains_findings_and_cures(write):
    code, out, _ = run(write(BLOCKED), "--json")
    told = json.loads(out)
    assert code == 1
    assert told["blocked"] is True
    tow = told["ports"][0]["states"]["tow"]
    assert (tow["answer"], tow["demand"], tow["met"]) == ("OFF", "on", False)
    assert [link["point"] for link in tow["chain"] if link["is_break"]] == ["fuse:F21"]
    assert told["loads"][0]["component"] == "load:eps"
    assert told["findings"][0]["code"] == "no_power"
    assert told["findings"][0]["cures"][0]["feed"] == "fuse:F21@supply"


def test_a_wrong_sheet_gets_every_fault_with_its_place_and_leaves_with_2(write):
    wrong = json.loads(json.dumps(BLOCKED))
    wrong["procedure"]["steps"][1].update(target="F12", reverse="Put F12 back")
    wrong["vehicle"]["colour"] = "red"
    code, out, err = run(write(wrong))
    assert (code, out) == (2, "")
    lines = err.splitlines()
    assert lines[0].endswith("sheet.json: 2 faults.")
    assert any(line.startswith("/vehicle/colour: ") for line in lines)
    assert (
        "/procedure/steps/1/target: Step 5 pulls fuse F12, which is not on the feed map. "
        "Fuses there: F21." in lines
    )


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        ("{", "is not JSON: line 1, column 2"),
        ("", "is not JSON: line 1, column 1"),
        (b"\xff\xfe\x00", "is not text in UTF-8."),
        ('{"a": 1, "a": 2}', "the name “a” stands twice in one group."),
        ('{"a": NaN}', "NaN is no number."),
        ('{"a": -Infinity}', "-Infinity is no number."),
        ("[" * 100_000, "is nested too deeply to be a vehicle sheet."),
        ("[]", "/: [] must be a group of named values."),
    ],
)
def test_a_file_that_is_no_sheet_gets_a_sentence(write, content, sentence):
    code, out, err = run(write(content))
    assert (code, out) == (2, "")
    assert sentence in err
    assert "Traceback" not in err


def test_a_file_that_is_not_there(tmp_path):
    code, _, err = run(str(tmp_path / "none.json"))
    assert code == 2
    assert "none.json cannot be read: No such file or directory." in err
    assert run(str(tmp_path))[0] == 2


def test_a_byte_order_mark_does_no_harm(write):
    assert run(write(b"\xef\xbb\xbf" + json.dumps(GOOD).encode()))[0] == 0


def test_standard_input(monkeypatch):
    monkeypatch.setattr(sys, "stdin", io.StringIO(json.dumps(GOOD)))
    assert run("-")[0] == 0


def test_help_tells_the_exit_codes(capsys):
    with pytest.raises(SystemExit):
        call_command("judge", "--help")
    told = " ".join(capsys.readouterr().out.split())
    assert "Exit code 0: nothing blocks the sign-off; 1: something does; 2:" in told


def test_the_numbers_are_judged_by_the_starting_limits(write):
    thin = {"feed": "fuse:F21", "wire": {"mm2": 0.5, "length_m": 9}}
    low = sheet(
        fuses=[{"id": "F21", "feed": "terminal:30", "rating_a": 15}],
        ports={"unit": ({"peak_a": 10}, thin)},
    )
    code, out, _ = run(write(low))
    assert code == 1
    assert "at least 10.5 V wanted" in out
    told = json.loads(run(write(low), "--json")[1])
    assert "volts_too_low" in {finding["code"] for finding in told["findings"]}
