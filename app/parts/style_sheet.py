"""The one style sheet and the palette, both made from a theme."""

from dataclasses import asdict
from string import Template

from PySide6.QtGui import QColor, QPalette

from ratings.reports.colours import Theme

_SHEET = Template("""
* { outline: none; }
QToolTip { background: $panel; color: $text; border: 1px solid $line; padding: 6px; }

QPushButton { background: $button; color: $text; border: 2px solid $button; border-radius: 8px;
              min-height: 24px; padding: 8px 18px; }
QPushButton:hover { border-color: $tick; }
QPushButton:pressed { background: $line; }
QPushButton:disabled { color: $soft_text; background: $button; border-color: $button; }
QPushButton:focus { border-color: $text; }
QPushButton[look="primary"] { background: $accent; color: $on_accent; border-color: $accent;
              font-weight: 600; }
QPushButton[look="primary"]:hover { border-color: $soft_text; }
QPushButton[look="primary"]:disabled { background: $button; color: $soft_text;
              border-color: $button; }
QPushButton[look="primary"]:focus { border-color: $text; }

QLineEdit, QPlainTextEdit, QTextEdit { background: $panel; color: $text; border: 2px solid $line;
              border-radius: 8px; padding: 7px 10px; selection-background-color: $accent;
              selection-color: $on_accent; placeholder-text-color: $soft_text; }
QLineEdit { min-height: 26px; }
QLineEdit:focus, QPlainTextEdit:focus, QTextEdit:focus { border-color: $accent; }
QComboBox, QAbstractSpinBox { background: $panel; color: $text; border: 2px solid $line;
              border-radius: 8px; min-height: 28px; padding: 6px 12px; }
QComboBox:focus, QAbstractSpinBox:focus { border-color: $accent; }
QAbstractSpinBox[look="refused"] { border-color: $attention; }
QComboBox::drop-down { border: none; width: 30px; }
QComboBox::down-arrow, QAbstractSpinBox::down-arrow { image: none; width: 0; height: 0;
              border-left: 5px solid $panel; border-right: 5px solid $panel;
              border-top: 6px solid $soft_text; }
QAbstractSpinBox::up-arrow { image: none; width: 0; height: 0; border-left: 5px solid $panel;
              border-right: 5px solid $panel; border-bottom: 6px solid $soft_text; }
QAbstractSpinBox::up-arrow:disabled { border-bottom-color: $line; }
QAbstractSpinBox::down-arrow:disabled { border-top-color: $line; }
QAbstractSpinBox::up-button { subcontrol-position: top right; width: 30px; height: 20px;
              border: none; background: $panel; border-top-right-radius: 6px; }
QAbstractSpinBox::down-button { subcontrol-position: bottom right; width: 30px; height: 20px;
              border: none; background: $panel; border-bottom-right-radius: 6px; }

QCheckBox, QRadioButton { min-height: 36px; padding: 2px 6px; spacing: 10px;
              border: 2px solid transparent; border-radius: 8px; }
QCheckBox:focus, QRadioButton:focus { border-color: $text; }
QCheckBox::indicator, QRadioButton::indicator { width: 12px; height: 12px; padding: 3px;
              border: 2px solid $rail; border-radius: 5px; background-clip: content; }
QRadioButton::indicator { border-radius: 11px; }
QCheckBox::indicator:checked { background-color: $accent; border-color: $accent; }
QRadioButton::indicator:checked { border-color: $accent; background-clip: padding;
              background: qradialgradient(cx:0.5, cy:0.5, radius:0.5, fx:0.5, fy:0.5,
              stop:0 $accent, stop:0.6 $accent, stop:0.68 $panel, stop:1 $panel); }

QAbstractItemView { background: $panel; alternate-background-color: $ground; color: $text;
              border: 2px solid $line; border-radius: 8px; gridline-color: $line;
              selection-background-color: $accent; selection-color: $on_accent; }
QAbstractItemView:focus { border-color: $accent; }
QHeaderView, QTableCornerButton::section { background: $panel; border: none; }
QHeaderView::section { background: $panel; color: $soft_text; border: none;
              border-bottom: 1px solid $line; padding: 8px; }

QScrollArea { border: none; background: transparent; }
QScrollArea > QWidget > QWidget { background: transparent; }
QScrollBar:vertical { background: transparent; width: 14px; margin: 0; }
QScrollBar:horizontal { background: transparent; height: 14px; margin: 0; }
QScrollBar::handle { background: $rail; border-radius: 4px; margin: 3px; }
QScrollBar::handle:vertical { min-height: 36px; }
QScrollBar::handle:horizontal { min-width: 36px; }
QScrollBar::add-line, QScrollBar::sub-line { width: 0; height: 0; }
QScrollBar::add-page, QScrollBar::sub-page { background: transparent; }

QProgressBar { background: $line; color: $text; border: none; border-radius: 4px;
              text-align: center; }
QProgressBar::chunk { background: $tick; border-radius: 4px; }

QLabel[look="soft"] { color: $soft_text; }
QLabel[look="done"] { color: $done; }
QLabel[look="key"] { background: $ground; color: $text; border: 1px solid $tick; border-radius: 6px;
              padding: 4px 10px; }
QFrame[look="panel"] { background: $panel; border: 1px solid $line; border-radius: 12px; }
QFrame[look="row"] { border: none; border-bottom: 1px solid $line; }
QFrame[look="cell"] { background: $ground; border: none; border-radius: 8px; }
QFrame[look="note"] { background: $panel; border: 1px solid $line; border-radius: 8px; }
QFrame[look="attention"] { background: $attention_tint; border: 2px solid $attention;
              border-radius: 8px; }
QLabel[look="refusal"] { background: $attention_tint; color: $attention;
              border: 2px solid $attention; border-radius: 8px; padding: 6px 8px; }
QLabel[look="attention"] { color: $attention; background: transparent; border: none; }
""")


def style_sheet(theme: Theme) -> str:
    """Style sheet of the whole program in one theme."""
    return _SHEET.substitute({name: str(value) for name, value in asdict(theme).items()})


def palette(theme: Theme) -> QPalette:
    """Palette of the whole program in one theme, disabled text readable too."""
    made = QPalette()
    roles = {
        QPalette.ColorRole.Window: theme.ground,
        QPalette.ColorRole.WindowText: theme.text,
        QPalette.ColorRole.Base: theme.panel,
        QPalette.ColorRole.AlternateBase: theme.ground,
        QPalette.ColorRole.Text: theme.text,
        QPalette.ColorRole.PlaceholderText: theme.soft_text,
        QPalette.ColorRole.Button: theme.button,
        QPalette.ColorRole.ButtonText: theme.text,
        QPalette.ColorRole.BrightText: theme.attention,
        QPalette.ColorRole.ToolTipBase: theme.panel,
        QPalette.ColorRole.ToolTipText: theme.text,
        QPalette.ColorRole.Highlight: theme.accent,
        QPalette.ColorRole.HighlightedText: theme.on_accent,
        QPalette.ColorRole.Accent: theme.accent,
        QPalette.ColorRole.Link: theme.accent,
        QPalette.ColorRole.LinkVisited: theme.attention,
        QPalette.ColorRole.Light: theme.panel,
        QPalette.ColorRole.Midlight: theme.line,
        QPalette.ColorRole.Mid: theme.tick,
        QPalette.ColorRole.Dark: theme.rail,
        QPalette.ColorRole.Shadow: theme.line,
    }
    for role, colour in roles.items():
        made.setColor(role, QColor(colour))
    faded = (
        QPalette.ColorRole.WindowText,
        QPalette.ColorRole.Text,
        QPalette.ColorRole.ButtonText,
    )
    for role in faded:
        made.setColor(QPalette.ColorGroup.Disabled, role, QColor(theme.soft_text))
    return made
