"""QR codes (ISO/IEC 18004) as pictures."""

from __future__ import annotations

import io


def qr_svg(text: str) -> str:
    """Return a QR code of the text as a stand-alone SVG with its quiet zone, error correction M."""
    import segno

    buffer = io.BytesIO()
    segno.make(text, error="m", micro=False).save(buffer, kind="svg", scale=8, border=4, light="#ffffff", xmldecl=False)
    return buffer.getvalue().decode()
