"""Command line: `python -m rendering SET [--out DIR]` from the repository's root."""

import argparse
from pathlib import Path

from rendering.sets import render_sample


def main() -> None:
    """Render a named set."""
    parser = argparse.ArgumentParser(prog="python -m rendering", description=__doc__)
    parser.add_argument("set", choices=("sample",), help="which set to render")
    parser.add_argument("--out", type=Path, default=Path("rendered"), help="folder for the set (git ignores it)")
    given = parser.parse_args()
    print(render_sample(given.out, given.out / "bodies"))


if __name__ == "__main__":
    main()
