"""QR squares for links, as pictures inside the page."""

from __future__ import annotations

import segno


def square(text: str) -> str:
    """Return a QR square as a data address for an image.

    Examples
    --------
    >>> square("https://localhost/")[:26]
    'data:image/svg+xml;charset'
    """
    return segno.make_qr(text, error="m").svg_data_uri(scale=5, border=4, dark="#000", light="#fff")
