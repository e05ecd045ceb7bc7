"""The name under which a browser saves a paper."""

import unicodedata

from django.http import HttpResponse
from django.utils.http import content_disposition_header

_LONGEST = 120


def file_name(*words: str) -> str:
    """Return a name for a file made of `words` in any script, without what file systems refuse."""
    text = " ".join(" ".join(words).split())
    kept = "".join(
        "-" if sign in '/\\:*?"<>|' else sign
        for sign in text
        # Control and invisible characters can turn a name around or break a header.
        if unicodedata.category(sign) not in {"Cc", "Cf", "Cs"}
    )
    return f"{kept[:_LONGEST].strip(' .') or 'paper'}.pdf"


def pdf_answer(pdf: bytes, name: str) -> HttpResponse:
    """Return the answer that shows a PDF and saves it under `name` (RFC 6266, RFC 5987: read)."""
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = str(content_disposition_header(False, name))
    return response
