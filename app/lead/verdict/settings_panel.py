"""What the words mean here: limits and figures of the study, to change in place."""

from __future__ import annotations

from functools import partial

from PySide6.QtWidgets import QBoxLayout, QGridLayout

from app.lead.verdict.panels import fill_choice, small_line
from app.lead.verdict.settling import LIMIT_MEANINGS, Settling
from app.parts.fields import Choice, NumberField
from app.parts.headings import PlainLine, QuestionPanel, plain_label
from app.parts.layouts import Air, Stretched, clear_layout, in_column, in_row

_MOST_POINTS = 9.0


class SettingsPanel(QuestionPanel):
    """Limits that matter, and the figure beside each attribute."""

    def __init__(self, settling: Settling) -> None:
        super().__init__("What do the words mean in this study?")
        self._settling = settling
        self._is_showing = False
        self.limits: dict[str, NumberField] = {}
        self.figures: dict[str, Choice] = {}
        self._keys: tuple[str, ...] = ()
        self._refusal = PlainLine(parent=self)
        self._refusal.setProperty("look", "refusal")
        self._refusal.hide()
        self.caption = small_line(self)
        self.caption.setText(
            "Common practice, no source: companies differ. A change after scores were given is "
            "kept with its time and told in the report."
        )
        self._figure_rows = QGridLayout()
        self._figure_rows.setHorizontalSpacing(12)
        self._figure_rows.setColumnStretch(2, 1)
        limits, figures = (
            plain_label(words, "strong")
            for words in ("Difference in points", "Measured figure beside each attribute")
        )
        self._sides = in_row(
            Stretched(
                in_column(
                    limits,
                    self._limit_rows(),
                    self._refusal,
                    self.caption,
                    Air(share=1),
                    gap_px=8,
                ),
                5,
            ),
            Stretched(in_column(figures, self._figure_rows, Air(share=1), gap_px=8), 4),
            gap_px=32,
        )
        self.body.addLayout(self._sides)

    def set_wide(self, *, is_wide: bool) -> None:
        """Put both sides beside each other, or one below the other."""
        ways = QBoxLayout.Direction
        self._sides.setDirection(ways.LeftToRight if is_wide else ways.TopToBottom)

    def show_results(self) -> None:
        """Show what is settled."""
        self._is_showing = True
        limits, can_change = self._settling.settings.limits, self._settling.can_change
        for name, field in self.limits.items():
            field.setValue(getattr(limits, name))
            field.setEnabled(can_change)
        refusal = self._settling.refusal
        self._refusal.setVisible(refusal is not None)
        if refusal is not None:
            self._refusal.setText(f"{refusal.what_happened} {refusal.what_to_do}")
        self._show_figures(can_change=can_change)
        self._is_showing = False

    def _limit_rows(self) -> QGridLayout:
        rows = QGridLayout()
        rows.setHorizontalSpacing(12)
        rows.setColumnStretch(2, 1)
        for place, (name, (words, meaning)) in enumerate(LIMIT_MEANINGS.items()):
            field = NumberField(f"limit: {words}", 0.0, _MOST_POINTS, decimals=2)
            field.setFixedWidth(110)
            field.valueChanged.connect(partial(self._settle_limit, name))
            self.limits[name] = field
            rows.addWidget(plain_label(words), place, 0)
            rows.addWidget(field, place, 1)
            rows.addWidget(PlainLine(meaning), place, 2)
        return rows

    def _show_figures(self, *, can_change: bool) -> None:
        named, offered = self._settling.figures_beside(), self._settling.figures()
        keys = tuple(key for key, _, _ in named)
        if keys != self._keys:
            self._keys = keys
            clear_layout(self._figure_rows)
            self.figures = {}
            for place, (key, name, _) in enumerate(named):
                choice = Choice(f"figure beside {name}", least_letters=18)
                choice.activated.connect(partial(self._settle_figure, key))
                self.figures[key] = choice
                self._figure_rows.addWidget(plain_label(name), place, 0)
                self._figure_rows.addWidget(choice, place, 1)
        for key, _, figure in named:
            fill_choice(self.figures[key], dict(offered), figure)
            self.figures[key].setEnabled(can_change)

    def _settle_limit(self, name: str, points: float) -> None:
        if not self._is_showing:
            self._settling.set_limit(name, points)

    def _settle_figure(self, attribute: str, place: int) -> None:
        figure = self.figures[attribute].itemData(place)
        self._settling.set_figure(attribute, figure if isinstance(figure, str) else None)
