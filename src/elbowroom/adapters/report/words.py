"""Every word that the report writes itself, in one place, so that it can be translated."""

from __future__ import annotations

from elbowroom.core.findings.types import VerdictWord

CAUTIONS = (
    "This is a screening aid for use by or with licensed clinicians. It is not a diagnosis.",
    "Pain, numbness, locking, swelling, a pop or lost motion means stop throwing and be examined.",
    "Local rules and the treating clinician come first.",
)
"""What every report says, whatever it found (design, section 5)."""

COMPARISON_CAUTION = (
    "Published relations between a movement and a load compare different people at one time. "
    "They do not promise that a change will spare a load."
)

VERDICT_MARKS = {
    VerdictWord.WITHIN: "ring",
    VerdictWord.BEYOND: "diamond",
    VerdictWord.TOO_CLOSE: "half",
    VerdictWord.NOT_MEASURED: "dash",
}
"""Shape that stands before each verdict's word, so that no verdict is told by colour alone."""

WORDS = {
    "title": "Throwing screening",
    "made_on": "Screened on",
    "age": "Age",
    "years": "years",
    "height": "Height",
    "hand": "Throws with the",
    "hand_word": "hand",
    "kind": "Kind of throw",
    "throws": "Throws measured",
    "views": "Phones",
    "contents": "Contents",
    "skip": "Skip to the findings",
    "headlines": "The four that matter most",
    "headlines_lead": "Each line shows the accepted range, the typical throw and how far it could be off.",
    "work": "What to work on first",
    "work_lead": "Ordered by how far outside, how sure, and how much it matters.",
    "work_none": "No measure is outside its limits for sure or by a chance worth following.",
    "pictures": "Key pictures",
    "pictures_lead": (
        "Thick line: throwing arm. Dashes: line through the shoulders, drawn on past the throwing shoulder. "
        "Dots: long axis of the trunk."
    ),
    "curves": "Through the throw",
    "curves_lead": "One line a throw, with its 95 % band. Time counts from foot contact.",
    "curves_lead_plain": "One line a throw, with its 95 % band.",
    "all": "All measures",
    "all_caption": "Judged: the typical throw against its limits",
    "plain_caption": "Measured without a verdict: there is no limit with a source",
    "measure": "Measure",
    "value": "Typical throw",
    "limit": "Accepted",
    "verdict": "Verdict",
    "chance": "Chance of being outside",
    "source_column": "Largest source of doubt, share of variance",
    "beside": "Published, for comparison",
    "loads": "What the arm bears",
    "missing": "What could not be measured",
    "missing_lead": "Grouped by reason, with what to change when filming next time.",
    "missing_none": "Everything that was asked for could be measured.",
    "advice": "Next time",
    "filmed": "How it was filmed",
    "clips_caption": "Clips and cameras",
    "clip": "Clip",
    "view": "View",
    "rate": "Pictures a second",
    "pictures_count": "Pictures",
    "residual": "Camera fit",
    "notes": "Noticed",
    "scale": "Lengths",
    "target": "Direction to the target",
    "clocks": "Clocks of the phones",
    "how": "Cameras found by",
    "throws_caption": "Instants of each throw, in seconds from the first that was found",
    "throw": "Throw",
    "method": "Method and sources",
    "method_rule": "How a verdict is reached",
    "definitions": "What each measure means",
    "limit_sources": "Where the limits come from",
    "published_sources": "Where the published values come from",
    "defined_by": "Source",
    "versions": "Made with",
    "name": "Name",
    "version": "Version or digest",
    "digests": "Clips by digest",
    "cautions": "Cautions",
    "standing": "Before you read on",
    "published": "published",
    "mean": "mean",
    "degrees": "degrees",
    "from_memory": "from memory, for reference only",
    "aim": "aim",
    "accepted": "accepted",
    "typical": "typical throw",
    "each_throw": "each throw",
    "key": "How to read the lines",
    "one_throw": "One throw only: how much the throws differ is not in the interval.",
    "made_by": "Made by elbowroom on the clinic's own machine.",
    "time_axis": "seconds from foot contact",
    "time_axis_plain": "seconds",
    "unknown": "not known",
}

RULE_SENTENCE = (
    "A measure is “beyond” when the chance that the typical throw is outside its limits is {beyond} or more, "
    "“within” when it is {within} or less, and “too close to call” between (JCGM 106:2012). "
    "The typical throw is the mean of the throws; its interval holds the scatter between them "
    "and every error that does not average out."
)
"""Says the decision rule in words; `beyond` and `within` are probabilities in per cent."""
