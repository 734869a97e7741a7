"""Plan: what is asked and examined beside the throws, drills with doses, the throwing weeks, return, retest."""
