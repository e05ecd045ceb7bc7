"""The text of a sheet: JSON as its standard has it, and nothing that would slip through."""

import json

import pytest

from installs.domain.sheet_text import SheetTextError, read_sheet_text


@pytest.mark.parametrize(
    "value",
    [{"a": [1, -2.5, None, True, "ä 🚙 \\u0000"]}, [], "text", {"deep": [[[[[[{}]]]]]]}],
)
def test_what_json_says_comes_back(value: object) -> None:
    assert read_sheet_text(json.dumps(value)) == value
    assert read_sheet_text(json.dumps(value, ensure_ascii=False)) == value


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("{", "is not JSON: line 1, column 2: "),
        ('{"a": "\x00"}', "is not JSON: line 1, column 8: "),
        ('{"a": NaN}', "cannot be read: NaN is no number."),
        ('{"a": [-Infinity]}', "cannot be read: -Infinity is no number."),
        ('{"a": 1e400}', "cannot be read: 1e400 is no number to reckon with."),
        ('{"a": %s}' % ("9" * 5000), "is no number to reckon with."),
        ('{"a": 1, "b": {"c": 1, "c": 1}}', "the name “c” stands twice in one group."),
        ('{"a": ["b\\u0000"]}', "it holds a NUL or half a character"),
        ('{"a\\u0000": 1}', "it holds a NUL or half a character"),
        ('{"a": "\\ud83d"}', "it holds a NUL or half a character"),
        ("[" * 100_000, "is nested too deeply to be a vehicle sheet."),
        ("[" * 200 + "]" * 200, "is nested too deeply to be a vehicle sheet."),
    ],
)
def test_anything_else_is_refused_with_a_sentence(text: str, sentence: str) -> None:
    with pytest.raises(SheetTextError) as refused:
        read_sheet_text(text)
    assert sentence in str(refused.value)
