"""Command line: `python -m rendering SET [--out DIR]` from the repository's root."""

import argparse
import os
from multiprocessing import get_context
from pathlib import Path

from rendering.sets import SETS
from rendering.tasks import do_task, list_tasks


def main() -> None:
    """Render named sets, one process a clip."""
    parser = argparse.ArgumentParser(prog="python -m rendering", description=__doc__)
    parser.add_argument("set", nargs="+", choices=sorted(SETS), help="which sets to render")
    parser.add_argument("--out", type=Path, default=Path("rendered"), help="folder for the sets (git ignores it)")
    parser.add_argument("--cores", type=int, default=max(1, (os.cpu_count() or 2) // 2), help="processes")
    parser.add_argument("--only", nargs="*", default=[""], help="only visits whose name contains one of these")
    parser.add_argument("--kind", default="", help="only this kind of work: clip, board or truth")
    given = parser.parse_args()
    plans = [plan for name in given.set for plan in SETS[name]() if any(o in plan.name for o in given.only)]
    tasks = [t for plan in plans for t in list_tasks(plan, given.out) if given.kind in ("", t.kind)]
    with get_context("spawn").Pool(given.cores, maxtasksperchild=1) as pool:
        for done in pool.imap_unordered(do_task, sorted(tasks, key=lambda t: t.kind != "clip"), chunksize=1):
            print(done, flush=True)


if __name__ == "__main__":
    main()
