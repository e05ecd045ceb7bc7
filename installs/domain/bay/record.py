"""The frozen record of a job: its canonical bytes and their digest.

Canonical means: JSON with sorted keys, no spaces, UTF-8, no number that is not finite. Two
contents are the same record where, and only where, their digests are equal (SHA-256, FIPS 180-4).
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


def addendum_digest(before: str, *, text: str, reason: str, by: str, at: str) -> str:
    """Return the digest of an addendum; `before` is that of the record or of the one before."""
    return digest({"before": before, "text": text, "reason": reason, "by": by, "at": at})
