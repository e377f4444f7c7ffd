"""Words of other people shown as they were written, never as markup."""

import html


def plain_tooltip(text: str) -> str:
    """Return a tool tip that shows `text` as it is; Qt would take some of it for markup."""
    return f"<qt>{html.escape(text)}</qt>" if text else ""
