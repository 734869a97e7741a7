"""Writes docs/openapi.json and the table of docs/api.md from the code: `python -m tests.makers.api_description`."""

from __future__ import annotations

import json
import re
from pathlib import Path

from elbowroom.web.api.app import describe_api

DOCS = Path(__file__).resolve().parents[2] / "docs"
BEGIN, END = "<!-- addresses -->\n", "<!-- end of addresses -->\n"


def write_description() -> None:
    """Write both files."""
    (DOCS / "openapi.json").write_text(
        json.dumps(describe_api(), ensure_ascii=False, indent=1) + "\n", encoding="utf-8"
    )
    page = (DOCS / "api.md").read_text(encoding="utf-8")
    table = f"{BEGIN}\n{render_table()}\n{END}"
    page = re.sub(f"{BEGIN}.*?{END}", lambda _: table, page, flags=re.S)
    (DOCS / "api.md").write_text(page, encoding="utf-8")


def render_table() -> str:
    """Return the addresses as a table."""
    rows = ["| method | address | gives or does |", "|---|---|---|"]
    for path, methods in describe_api()["paths"].items():
        rows += [f"| {name.upper()} | `{path}` | {item['description']} |" for name, item in methods.items()]
    return "\n".join(rows) + "\n"


if __name__ == "__main__":
    write_description()
