"""QR codes as drawings, to be put into a page or paper."""

import segno
from django.utils.safestring import SafeString, mark_safe

# Four empty modules around it: ISO/IEC 18004 (from memory) asks for them, and scanners do.
_QUIET = 4


def qr_svg(text: str) -> SafeString:
    """Return the code for `text` as SVG without a size: whoever shows it decides.

    Level M: it can still be read with a seventh of it dirty or torn.
    """
    code = segno.make(text, error="m", micro=False, boost_error=False)
    drawn = code.svg_inline(border=_QUIET, omitsize=True, svgclass="qr", lineclass=None)
    return mark_safe(drawn)  # noqa: S308 - squares drawn by the library; the text is not in it
