"""The type sizes of the program: the system's sans with figures of one width."""

from typing import Literal

from PySide6.QtGui import QFont, QFontDatabase

FontRole = Literal["small", "body", "strong", "name", "heading", "finding", "letter"]

_SIZES_PT: dict[FontRole, float] = {
    "small": 9.5,
    "body": 11.0,
    "strong": 11.0,
    "name": 12.0,
    "heading": 16.0,
    "finding": 20.0,
    "letter": 30.0,
}
_HEAVY: frozenset[FontRole] = frozenset({"strong", "name", "heading", "finding", "letter"})


def font(role: FontRole) -> QFont:
    """Give the font for one role of text, with tabular figures."""
    chosen = QFont(QFontDatabase.systemFont(QFontDatabase.SystemFont.GeneralFont))
    chosen.setPointSizeF(_SIZES_PT[role])
    if role in _HEAVY:
        chosen.setWeight(QFont.Weight.DemiBold)
    chosen.setFeature(QFont.Tag("tnum"), 1)
    return chosen
