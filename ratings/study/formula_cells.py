"""Text that a spreadsheet would run as a formula, marked as text in a CSV file."""

import re

#: What a spreadsheet takes for the start of a formula, wide forms included, or may drop in front
#: of one; apostrophes before it are marks that stand there already. Source: OWASP, "CSV
#: Injection" (characters from memory).
_FORMULA = re.compile(r"'*(\s*[=+\-@＝＋－＠]|[\t\r\n]\s*\S)")


def marked(text: str) -> str:
    """Put an apostrophe before text that would be a formula, as one does in a spreadsheet.

    Text such as ``'=1`` gets one more, so that `unmarked` gives back every text as it was.
    """
    return f"'{text}" if _FORMULA.match(text) else text


def unmarked(text: str) -> str:
    """Take off the apostrophe that `marked` put there; any other stays."""
    return text[1:] if text.startswith("'") and _FORMULA.match(text) else text
