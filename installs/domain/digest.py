"""The digest of plain JSON values: of a frozen record, of what is printed on a paper.

Canonical means: JSON with sorted keys, no spaces, UTF-8, no number that is not finite. Two
contents are the same where, and only where, their digests are equal (SHA-256, FIPS 180-4, from
memory).
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from typing import Any


def canonical(content: Mapping[str, Any]) -> bytes:
    """Return `content` as the bytes that the digest is taken of. Raises ValueError for NaN."""
    text = json.dumps(
        content, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
    )
    return text.encode("utf-8")


def digest(content: Mapping[str, Any]) -> str:
    """Return the SHA-256 of the canonical bytes, 64 lower-case hexadecimal digits."""
    return hashlib.sha256(canonical(content)).hexdigest()
