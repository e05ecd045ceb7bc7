"""How text is cut to what a picture has room for. The full text stands in its table."""

import textwrap

# Of a character of the widest mono font in use, at 1 px of font size.
MONO = 0.602


def clip(text: str, length: int) -> str:
    """Return `text`, cut with dots where it is longer than `length` characters."""
    return text if len(text) <= length else f"{text[: length - 1]}…"


def lines(text: str, width: int, most: int = 2) -> list[str]:
    """Break `text` into a few lines of `width` characters; what does not fit ends in dots."""
    return textwrap.wrap(text, width, max_lines=most, placeholder="…") if text else []
