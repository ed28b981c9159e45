"""Everything a PDF holds, decoded: text as a reader sees it, streams, strings, metadata, attachments, pictures."""

from __future__ import annotations

import contextlib
import io
from pathlib import Path

import pikepdf
import pypdf


def shown_text(pdf: Path | bytes) -> str:
    """Return the text of all pages, spaces made single."""
    source = io.BytesIO(pdf) if isinstance(pdf, bytes) else pdf
    return " ".join(" ".join(page.extract_text() or "" for page in pypdf.PdfReader(source).pages).split())


def everything(pdf: Path) -> bytes:
    """Return all there is in the file, decoded as far as it goes, one piece after the other."""
    pieces = [pdf.read_bytes(), shown_text(pdf).encode()]
    with pikepdf.open(pdf) as document:
        for thing in document.objects:
            pieces += _inside(thing)
        pieces.append(repr(dict(document.docinfo)).encode())
        if "/Metadata" in document.Root:
            pieces.append(document.Root.Metadata.read_bytes())
        for name, spec in document.attachments.items():
            pieces += [name.encode(), spec.get_file().read_bytes(), (spec.description or "").encode()]
        pieces.append(_outline(document).encode())
    return b"\n".join(pieces)


def _inside(thing: object, depth: int = 0) -> list[bytes]:
    """Return what an object holds itself; the objects it only refers to are the document's own."""
    if depth and getattr(thing, "is_indirect", False):
        return []
    if isinstance(thing, pikepdf.Stream):
        found = [thing.read_raw_bytes()]
        with contextlib.suppress(pikepdf.PdfError):
            found.append(thing.read_bytes())
        return found + [piece for key in thing for piece in _inside(thing[key], depth + 1)]
    if isinstance(thing, pikepdf.String):
        return [bytes(thing), str(thing).encode()]
    if isinstance(thing, pikepdf.Dictionary):
        return [piece for key in thing for piece in _inside(thing[key], depth + 1)]
    if isinstance(thing, pikepdf.Array):
        return [piece for one in thing for piece in _inside(one, depth + 1)]
    return []


def _outline(document: pikepdf.Pdf) -> str:
    with document.open_outline() as outline:
        return "\n".join(item.title or "" for item in outline.root)
