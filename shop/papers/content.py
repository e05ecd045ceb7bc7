"""What identifies a paper: the hash of what is printed on it."""

import json
from collections.abc import Mapping
from hashlib import sha256
from typing import Any


def content_hash(content: Mapping[str, Any]) -> str:
    """Return the SHA-256 of `content` (plain JSON values), the same for any order of its keys."""
    text = json.dumps(content, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return sha256(text.encode()).hexdigest()
