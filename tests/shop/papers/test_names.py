"""The name of a file survives the header: RFC 6266 and RFC 5987 (both read)."""

from email.message import Message
from urllib.parse import unquote

import pytest

from shop.papers.names import file_name, pdf_answer


def told_name(header: str) -> str:
    """What a browser takes from the header: the extended name first, else the quoted one."""
    message = Message()
    message["Content-Disposition"] = header
    found = message.get_filename()
    assert found is not None
    if "filename*=" in header:
        return unquote(header.partition("filename*=utf-8''")[2])
    return found


@pytest.mark.parametrize(
    ("words", "name"),
    [
        ("O'Brien – Muñoz tow card", "O'Brien – Muñoz tow card.pdf"),
        ("Łukasz Ñandú 李 tow card", "Łukasz Ñandú 李 tow card.pdf"),
        ("plain tow card", "plain tow card.pdf"),
        ('a"b', "a-b.pdf"),
        ("../../etc/passwd", "-..-etc-passwd.pdf"),
        ("a\r\nSet-Cookie: x=1", "a Set-Cookie- x=1.pdf"),
        ("evil\u202efdp.exe", "evilfdp.exe.pdf"),
        ("\u200b . ", "paper.pdf"),
        ("x" * 400, "x" * 120 + ".pdf"),
    ],
)
def test_a_name_reaches_the_browser_whole_and_harmless(words: str, name: str) -> None:
    answer = pdf_answer(b"%PDF", file_name(words))
    assert told_name(answer["Content-Disposition"]) == name
    assert answer["Content-Disposition"].startswith("inline; ")
    assert answer["Content-Type"] == "application/pdf"
