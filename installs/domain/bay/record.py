"""The digest of an addendum to a frozen record; the record's own is that of its content."""

from __future__ import annotations

from installs.domain.digest import digest


def addendum_digest(before: str, *, text: str, reason: str, by: str, at: str) -> str:
    """Return the digest of an addendum; `before` is that of the record or of the one before."""
    return digest({"before": before, "text": text, "reason": reason, "by": by, "at": at})
