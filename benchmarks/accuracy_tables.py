"""The tables of the accuracy benchmark in Markdown, made from its rows alone."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any

import numpy as np

from benchmarks.errors import ErrorRow, VerdictRow
from benchmarks.figures import ErrorFigures, VerdictFigures, count_verdicts, find_share_range, summarise_all
from benchmarks.machine import render_machine, render_table

Visits = Sequence[dict[str, Any]]

TARGETS: tuple[tuple[str, str, float], ...] = (
    ("elbow_to_shoulder_line_at_foot_contact", "deg", 4.0),
    ("elbow_to_shoulder_line_at_layback", "deg", 4.0),
    ("elbow_to_shoulder_line_at_release", "deg", 4.0),
    ("elbow_flexion_at_layback", "deg", 6.0),
    ("trunk_opening_at_foot_contact", "deg", 4.0),
    ("trunk_opening_at_layback", "deg", 4.0),
    ("trunk_opening_at_release", "deg", 4.0),
    ("stride_offset", "m", 0.013),
    ("stride_length", "m", 0.02),
)
"""Mean absolute errors to reach (design.md 6)."""
INSTANT_TARGETS = (("foot contact", 2.0), ("release", 2.0))
"""Mean absolute errors of instants to reach, pictures (design.md 6)."""
COVERAGE_TARGET = (0.90, 0.99)
"""Share of 95 % intervals that must hold the truth (design.md 6)."""
WRONG_TARGET = 0.02
"""Largest share of confident verdicts that may be wrong (design.md 6)."""
SHOWN = {"m": (100.0, "cm"), "s": (1000.0, "ms")}
"""Units for reading: factor and name."""


def render_accuracy(whole: dict[str, Any]) -> str:
    """Render all tables."""
    visits = whole["visits"]
    rows, absent = list_rows(visits, "measures"), [row["key"] for visit in visits for row in visit.get("absent", ())]
    figures = summarise_all(rows, absent)
    instants = summarise_all(list_rows(visits, "instants"), absent)
    verdicts = [VerdictRow(**row) for visit in visits for row in visit.get("verdicts", ())]
    parts = [
        "# Accuracy against rendered truth\n",
        render_machine(whole["machine"]) + "\n",
        ". ".join(f"{key}: {value}" for key, value in whole["how"].items()) + ".\n",
        render_set(visits),
        "## Figures to reach (design.md 6)\n",
        render_targets(figures, instants, find_rate_hz(visits)),
        render_coverage_line(figures),
        render_verdict_line(verdicts),
        render_joint_line(visits),
        "## Instants\n",
        render_instants(instants, find_rate_hz(visits)),
        "## All measures, throw by throw\n",
        render_figures(figures),
        "## All measures, typical throw of a visit\n",
        render_figures(summarise_all(list_rows(visits, "typical"), ())),
        "## Verdicts\n",
        render_verdicts(verdicts),
        "## Every joint: reconstruction against picture-by-picture triangulation of the same tracks\n",
        render_joints(visits),
        "## By hand, views and age\n",
        render_groups(visits),
        "## Visits\n",
        render_visits(visits),
    ]
    return "\n".join(parts)


def list_rows(visits: Visits, what: str) -> list[ErrorRow]:
    """List one kind of rows over the visits."""
    return [ErrorRow(**fill_row(row)) for visit in visits for row in visit.get(what, ())]


def fill_row(row: dict[str, Any]) -> dict[str, Any]:
    """Put not-a-number back where the file says null."""
    return {key: float("nan") if value is None else value for key, value in row.items()}


def find_rate_hz(visits: Visits) -> float:
    """Find the pictures a second of the set."""
    return float(np.median([visit["rate_hz"] for visit in visits]))


def render_set(visits: Visits) -> str:
    """Render how large the set is and what was lost of it."""
    throws, measured = sum(len(visit["throws"]) for visit in visits), sum(len(visit["measured"]) for visit in visits)
    refused = [f"{visit['visit']}: {visit['refused']}" for visit in visits if "refused" in visit]
    lines = [f"{len(visits)} athletes, {throws} throws, {measured} of them found and measured."]
    return " ".join([*lines, *refused]) + "\n"


def show(value: float, unit: str, digits: int = 2) -> str:
    """Show a value in a unit for reading."""
    factor = SHOWN.get(unit, (1.0, unit))[0]
    return "-" if value != value else f"{factor * value:.{digits}f}"


def name_unit(unit: str) -> str:
    """Name the unit for reading."""
    return SHOWN.get(unit, (1.0, unit))[1]


def say(is_met: bool) -> str:
    """Say whether a figure is reached."""
    return "yes" if is_met else "**no**"


def render_targets(figures: Sequence[ErrorFigures], instants: Sequence[ErrorFigures], rate_hz: float) -> str:
    """Render the rows of design.md 6 that this benchmark is about."""
    known = {item.key: item for item in (*figures, *instants)}
    rows = []
    for key, unit, target in TARGETS:
        if key in known:
            found = known[key]
            shown = f"{show(found.mean_absolute, unit)} {name_unit(unit)}", f"{show(target, unit, 1)} {name_unit(unit)}"
            rows.append([name(key), *shown, say(found.mean_absolute <= target), render_coverage(found)])
    for key, target in INSTANT_TARGETS:
        if key in known:
            found = known[key]
            pictures = found.mean_absolute * rate_hz
            shown = f"{pictures:.2f} pictures ({show(found.mean_absolute, 's', 1)} ms)", f"{target:g} pictures"
            rows.append([name(key), *shown, say(pictures <= target), render_coverage(found)])
    return render_table(
        ("what", "mean absolute error", "to reach", "reached", "95 % intervals that hold the truth"), rows
    )


def name(key: str) -> str:
    """Name a measure in words."""
    return key.replace("_", " ")


def render_coverage(found: ErrorFigures) -> str:
    """Render a coverage with its range and number."""
    low, high = found.coverage_range
    return f"{100 * found.coverage:.0f} % ({100 * low:.0f} to {100 * high:.0f}, n {found.count})"


def render_coverage_line(figures: Sequence[ErrorFigures]) -> str:
    """Render how many measures keep the range of coverage, and which do not."""
    low, high = COVERAGE_TARGET
    kept = sum(low <= item.coverage <= high for item in figures)
    over = sum(item.coverage > high for item in figures)
    under = [item for item in figures if item.coverage < low]
    surely = [item for item in under if item.coverage_range[1] < low]
    covered, count = sum(item.covered for item in figures), sum(item.count for item in figures)
    said = ", ".join(f"{name(item.key)} {100 * item.coverage:.0f} %" for item in under)
    return (
        f"Coverage: {100 * covered / max(count, 1):.1f} % of all {count} intervals hold the truth. Of {len(figures)} "
        f"measures {kept} lie within 90 to 99 %, {over} above (hardly any interval misses), {len(under)} below; "
        f"for {len(surely)} of these the whole binomial range is below 90 %. Below: {said or 'none'}.\n"
    )


def render_verdict_line(rows: Sequence[VerdictRow]) -> str:
    """Render the share of confident verdicts that are wrong."""
    total = count_verdicts("all", rows)
    share = total.wrong / max(total.confident, 1)
    low, high = find_share_range(total.wrong, total.confident)
    return (
        f"Confident verdicts that are wrong: {total.wrong} of {total.confident}, {100 * share:.1f} % "
        f"({100 * low:.1f} to {100 * high:.1f}); to reach: at most {100 * WRONG_TARGET:g} %; "
        f"reached: {say(share <= WRONG_TARGET)}.\n"
    )


def render_joint_line(visits: Visits) -> str:
    """Render on how many joints the reconstruction is better."""
    figures = [item for item in list_joint_figures(visits) if item[0] != "all"]
    better = sum(built < triangulated for _, _, built, triangulated, _, _ in figures)
    return f"Reconstruction better than triangulation on {better} of {len(figures)} joints (root mean square).\n"


def render_instants(instants: Sequence[ErrorFigures], rate_hz: float) -> str:
    """Render the table of instants."""
    rows = [
        [
            item.key, str(item.count), str(item.absent), show(item.mean_absolute, "s", 1),
            f"{item.mean_absolute * rate_hz:.2f}", show(item.bias, "s", 1), show(item.standard, "s", 1),
            f"{item.z_rms:.2f}", render_coverage(item),
        ]
        for item in instants
    ]  # fmt: skip
    head = ("instant", "n", "not found", "mean absolute error, ms", "in pictures", "bias, ms", "stated u, ms", "rms z")
    return render_table((*head, "95 % intervals that hold the truth"), rows)


def render_figures(figures: Iterable[ErrorFigures]) -> str:
    """Render the table of measures."""
    rows = [
        [
            name(item.key), name_unit(item.unit), str(item.count), str(item.absent),
            show(item.mean_absolute, item.unit), show(item.bias, item.unit), show(item.held_absolute, item.unit),
            show(item.standard, item.unit), f"{item.z_rms:.2f}", render_coverage(item),
        ]
        for item in figures
    ]  # fmt: skip
    head = ("measure", "unit", "n", "absent", "mean absolute error", "bias", "at true instants", "stated u", "rms z")
    return render_table((*head, "95 % intervals that hold the truth"), rows)


def render_verdicts(rows: Sequence[VerdictRow]) -> str:
    """Render the table of verdicts."""
    keys = list(dict.fromkeys(row.key for row in rows))
    counted = [count_verdicts(key, [row for row in rows if row.key == key]) for key in keys]
    head = ("measure", "n", "within", "beyond", "too close to call", "not measured", "truly beyond", "wrong")
    return render_table(head, [list_verdict_cells(item) for item in [*counted, count_verdicts("all", rows)]])


def list_verdict_cells(item: VerdictFigures) -> list[str]:
    """List the cells of a row of verdicts."""
    counts = (item.count, item.within, item.beyond, item.too_close, item.absent, item.truly_beyond, item.wrong)
    return [name(item.key), *(str(count) for count in counts)]


def list_joint_figures(visits: Visits) -> list[tuple[str, int, float, float, float, float]]:
    """List for each joint, throws weighted alike: count, root mean squares and medians of both methods, metres."""
    rows = [row for visit in visits for row in visit.get("joints", ())]
    figures = []
    for joint in [*dict.fromkeys(row["joint"] for row in rows), "all"]:
        chosen = [row for row in rows if joint in (row["joint"], "all")]
        squares = [
            np.sqrt(np.mean([row[part] ** 2 for row in chosen])) for part in ("reconstructed_m", "triangulated_m")
        ]
        medians = [np.median([row[f"{part}_median_m"] for row in chosen]) for part in ("reconstructed", "triangulated")]
        figures.append((joint, len(chosen), *(float(value) for value in (*squares, *medians))))
    return figures  # type: ignore[return-value]


def render_joints(visits: Visits) -> str:
    """Render the table of joints."""
    rows = [
        [
            name(joint), str(count), *(f"{100 * value:.2f}" for value in (built, triangulated)),
            f"{built / triangulated:.2f}", *(f"{100 * value:.2f}" for value in (built_median, other_median)),
            say(built < triangulated),
        ]
        for joint, count, built, triangulated, built_median, other_median in list_joint_figures(visits)
    ]  # fmt: skip
    head = (
        "joint",
        "throws",
        "reconstruction, rms cm",
        "triangulation, rms cm",
        "ratio",
        "median cm",
        "median cm (tri.)",
    )
    return render_table((*head, "better"), rows)


GROUPS: tuple[tuple[str, Callable[[dict[str, Any]], str]], ...] = (
    ("hand", lambda visit: str(visit["hand"])),
    ("views", lambda visit: str(visit["views"])),
    (
        "age",
        lambda visit: (
            "8 to 12" if visit["age_years"] < 13 else "13 to 16" if visit["age_years"] < 17 else "17 and over"
        ),
    ),
)
"""What the set is split by."""
GROUP_KEYS = (
    "elbow_to_shoulder_line_at_foot_contact",
    "elbow_to_shoulder_line_at_layback",
    "elbow_flexion_at_layback",
    "trunk_opening_at_foot_contact",
    "stride_offset",
    "stride_length",
)
"""Measures that are shown for each part."""


def render_groups(visits: Visits) -> str:
    """Render mean absolute errors, coverage and wrong verdicts by hand, views and age."""
    rows = []
    for title, find_group in GROUPS:
        for group in sorted({find_group(visit) for visit in visits}):
            chosen = [visit for visit in visits if find_group(visit) == group]
            rows.append([f"{title}: {group}", *list_group_cells(chosen)])
    head = ("part", "throws", *(f"{name(key)}, {'cm' if key.startswith('stride') else 'deg'}" for key in GROUP_KEYS))
    return render_table((*head, "intervals that hold the truth", "wrong of confident verdicts"), rows)


def list_group_cells(visits: Visits) -> list[str]:
    """List the cells of one part of the set."""
    figures = summarise_all(list_rows(visits, "measures"), ())
    known = {item.key: show(item.mean_absolute, item.unit) for item in figures}
    covered, count = sum(item.covered for item in figures), sum(item.count for item in figures)
    total = count_verdicts("all", [VerdictRow(**row) for visit in visits for row in visit.get("verdicts", ())])
    throws = sum(len(visit["measured"]) for visit in visits)
    shares = [f"{100 * covered / max(count, 1):.0f} %", f"{total.wrong} of {total.confident}"]
    return [str(throws), *(known.get(key, "-") for key in GROUP_KEYS), *shares]


def render_visits(visits: Visits) -> str:
    """Render one row a visit."""
    head = ("visit", "age", "height, m", "hand", "views", "throws measured", "camera places off, mm")
    rows = [list_visit_cells(visit) for visit in visits]
    return render_table((*head, "clock off (stated u), ms", "s after landmarks are remembered"), rows)


def list_visit_cells(visit: dict[str, Any]) -> list[str]:
    """List the cells of one visit."""
    clocks = [ErrorRow(**fill_row(row)) for row in visit.get("clocks", ())]
    return [
        visit["visit"],
        f"{visit['age_years']:g}",
        f"{visit['height_m']:.2f}",
        visit["hand"],
        visit["views"],
        f"{len(visit['measured'])} of {len(visit['throws'])}",
        ", ".join(f"{1000 * value:.0f}" for value in visit.get("camera_errors_m", ())),
        ", ".join(f"{1000 * row.error:.1f} ({1000 * row.standard:.1f})" for row in clocks),
        f"{sum(visit.get('seconds', {}).values()):.0f}",
    ]
