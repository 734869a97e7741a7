"""Laying a paper out: JSON in, tagged PDF (PDF/UA-1) out. No text is ever spliced into a template."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from importlib.resources import as_file, files
from typing import Any, Final

import typst

from elbowroom.errors import ResultError

STANDARD: Final = "ua-1"
"""Universal accessibility (ISO 14289-1): a paper that would not keep it is refused, not written."""
LETTER_LACKED = re.compile(r"the text `?\"(?P<letter>.+?)\"`? could not be displayed")
FONTS = frozenset({"Libertinus Serif", "New Computer Modern", "DejaVu Sans Mono"})
"""Fonts that the papers are set in; they come inside the typesetter."""


def render_pdf(template: str, data: Mapping[str, Any]) -> bytes:
    """Return the PDF of a template of this folder, without a date and without the name of a machine or person.

    Fonts of the machine are only looked at where a name holds letters that the packaged fonts lack. Raises
    `ResultError` where fonts are missing, a letter cannot be shown, or a page cannot hold what it has to.
    """
    check_fonts()
    try:
        return _compile(template, data, is_own_fonts=True)
    except typst.TypstError as e:
        if not LETTER_LACKED.search(e.message):
            raise _translate(e) from e
    try:
        return _compile(template, data, is_own_fonts=False)
    except typst.TypstError as e:
        raise _translate(e) from e


def check_fonts() -> None:
    """Raise `ResultError`, naming them, where fonts of the papers did not come with the typesetter."""
    missing = sorted(FONTS - set(typst.Fonts(include_system_fonts=False).families()))
    if missing:
        raise ResultError(
            f"The fonts {', '.join(missing)} are missing, so no PDF was written: install elbowroom again, or use "
            "report.html."
        )


def _compile(template: str, data: Mapping[str, Any], *, is_own_fonts: bool) -> bytes:
    text = json.dumps(data, ensure_ascii=False, allow_nan=False)
    with as_file(files("elbowroom").joinpath("adapters", "report", "papers")) as folder:
        return typst.compile(
            folder / template,
            root=folder,
            format="pdf",
            pdf_standards=STANDARD,
            ignore_system_fonts=is_own_fonts,
            sys_inputs={"paper": text},
        )


def _translate(error: typst.TypstError) -> ResultError:
    """Return what went wrong as one sentence that says what to do."""
    lacked = LETTER_LACKED.search(error.message)
    if lacked:
        return ResultError(
            f"No font on this machine shows {lacked['letter']!r}, which a name holds: write the name in other letters "
            "or as a code, or install a font that has it."
        )
    if "does not fit on one page" in error.message:
        return ResultError(
            "The family page does not fit on one sheet: shorten the name or the drills' words, or leave drills out."
        )
    return ResultError(f"The PDF could not be laid out ({' '.join(error.message.split())}): use report.html instead.")
