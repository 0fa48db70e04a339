"""Words that several modules of the programme share."""

PAIRS, LEAVE_OUT, OTHER_PATTERNS = "pairs", "leave-out", "patterns"
WAYS = (PAIRS, LEAVE_OUT, OTHER_PATTERNS)

#: The variant of a section that its layout states.
AS_STATED = "as-stated"
