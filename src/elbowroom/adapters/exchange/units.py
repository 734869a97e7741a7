"""Units as other programs write them."""

from __future__ import annotations

UCUM = {
    "deg": "deg",
    "m": "m",
    "s": "s",
    "deg/s": "deg/s",
    "m/s": "m/s",
    "%": "%",
    "1": "1",
    "N m": "N.m",
    "N": "N",
    "% BW H": "%{BW.H}",
    "% BW": "%{BW}",
}
"""Our units -> codes of the Unified Code for Units of Measure (UCUM 2.1); what is in braces is an annotation there."""
