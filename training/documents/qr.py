"""The QR code that leads from paper to a page."""

import segno

# Level M lets 15 % of the code be damaged (ISO/IEC 18004): enough for a smear on site.
ERROR_CORRECTION = "m"
QUIET_ZONE = 4  # modules of white on each side, asked for by ISO/IEC 18004


def qr_svg(address: str, *, title: str) -> str:
    """The SVG of the QR code for ``address``, with ``title`` as its alternative text."""
    code = segno.make(address, error=ERROR_CORRECTION, micro=False)
    svg: str = code.svg_inline(
        border=QUIET_ZONE, title=title, omitsize=True, svgclass=None, lineclass=None
    )
    return svg
