"""Reading a PDF back with a library that had no part in making it: structure tree, texts, metadata."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pypdf
from pypdf.generic import ArrayObject, DictionaryObject, IndirectObject


@dataclass(frozen=True, kw_only=True)
class Tag:
    """An element of the structure tree."""

    kind: str
    """Name of the tag without its slash."""
    alt: str
    """What it says to those who cannot see it, or an empty text."""


def open_pdf(content: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(content), strict=True)


def walk_tags(content: bytes) -> Iterator[Tag]:
    """Yield the structure elements in the order of reading."""
    yield from _walk(open_pdf(content).trailer["/Root"]["/StructTreeRoot"]["/K"])


def _walk(node: Any) -> Iterator[Tag]:
    item = node.get_object() if isinstance(node, IndirectObject) else node
    if isinstance(item, ArrayObject):
        for part in item:
            yield from _walk(part)
    elif isinstance(item, DictionaryObject):
        if "/S" in item:
            yield Tag(kind=str(item["/S"]).lstrip("/"), alt=str(item.get("/Alt", "")))
        if "/K" in item:
            yield from _walk(item["/K"])


def list_headings(content: bytes) -> list[int]:
    """List the levels of the headings in the order of reading."""
    return [int(tag.kind[1:]) for tag in walk_tags(content) if tag.kind[:1] == "H" and tag.kind[1:].isdigit()]


def read_words(content: bytes) -> str:
    """Read all text, white space made single."""
    return " ".join(" ".join(page.extract_text() for page in open_pdf(content).pages).split())


def read_metadata(content: bytes) -> str:
    """Read everything that the file says of itself: information dictionary and XMP packet."""
    pdf = open_pdf(content)
    packet = pdf.trailer["/Root"].get("/Metadata")
    xmp = packet.get_object().get_data().decode("utf-8") if packet is not None else ""
    return f"{dict(pdf.metadata or {})}\n{xmp}"
