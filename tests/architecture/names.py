"""The words that names are made of; docs/glossary.md explains each, and a document test compares the two."""

from __future__ import annotations

VERBS = (
    # acts of the job
    *("read", "fetch", "find", "get", "detect", "estimate", "measure", "judge", "choose", "render", "screen"),
    # making and changing
    *("build", "make", "prepare", "derive", "convert", "join", "split", "add", "remove", "replace", "store"),
    *("apply", "swap", "mark", "mirror", "turn", "crop", "order", "select", "collect", "group", "pair"),
    *("link", "extract", "assume", "shift", "scale", "reflect"),
    # numbers
    *("compute", "combine", "propagate", "project", "triangulate", "solve", "fit", "refine", "evaluate"),
    *("interpolate", "smooth", "filter", "normalise", "invert", "undistort", "flatten", "densify", "wrap"),
    *("differentiate", "integrate", "repair", "weigh", "align", "time", "count", "sum", "simulate", "draw"),
    *("reconstruct", "predict", "locate", "factor", "average", "calibrate", "concatenate", "reorder", "unwrap"),
    *("spread", "widen", "pin", "step", "tie", "compare", "share"),
    # words for people
    *("phrase", "describe", "explain", "name", "list", "show", "capitalise"),
    # looking at the throws
    *("watch", "look", "pick", "track", "see", "view", "place", "set", "gather", "take"),
    # running
    *("run", "check", "open", "close", "write", "decode", "encode", "translate", "handle", "walk", "report"),
    *("raise", "refuse", "begin", "print", "say", "digest"),
    # the record
    *("keep", "restore", "back", "forget", "withdraw", "note", "seal", "unpack", "upgrade", "change", "force"),
    *("subtract",),
    # the pages
    *("answer", "log", "lock", "serve", "hash"),
    # jobs
    *("finish", "cancel", "sweep", "fill"),
    # intake and exam
    *("release", "examine"),
)
"""First words of public functions, beside the questions below."""

QUESTIONS = ("is", "has")
"""First words of functions that answer yes or no."""

UNITS = (
    *("deg", "rad", "m", "cm", "mm", "px", "s", "ms", "hz", "kg", "n", "nm", "years", "percent", "lines", "c", "inch"),
    *("m2", "px2", "s2", "rad2"),
)
"""Last words of bare numbers: `turn_deg`, `gap_s`, and for rates `turning_deg_per_s`."""

UNITLESS = (
    *("ratio", "fraction", "probability", "share", "factor", "score", "confidence", "weight", "gain"),
    *("cosine", "sine", "power", "correlation", "sharpness", "level", "freedom", "cost", "damping"),
    *("severity", "consequence", "consistency", "agreement"),
)
"""Words that say a bare number has no unit, anywhere in its name: `probability_beyond`."""

UNIT_BESIDE = (
    *("value", "standard", "lower", "upper", "limit", "aim", "mean", "sd", "width", "scatter", "residual"),
    *("squares", "repeatability", "number", "lowest", "highest", "low", "high", "start", "end"),
    *("span", "step", "margin", "spread"),
)
"""Last words of bare numbers whose unit stands beside them, in a field or argument of its own."""
