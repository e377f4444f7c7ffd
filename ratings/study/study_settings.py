"""What the lead settles for the verdict: limits, planned evaluators, figures, own words."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal, get_args

from ratings.study.attributes import Attribute
from ratings.study.bands import Band
from ratings.study.figures import title_of
from ratings.study.limits import Limits

#: Where the lead may write in place of the program.
Place = Literal["summary", "recommendation"]
PLACES: tuple[Place, ...] = get_args(Place)

#: The measured figure that is named beside an attribute; our judgement, after the bands of the
#: attributes. None: no one figure stands for it.
DEFAULT_FIGURES: Mapping[str, str | None] = {
    "boom": "band_boom",
    "rumble": "band_structure_borne",
    "cavity_ring": "cavity_line_level",
    "pattern_whine": "band_pattern",
    "hiss": "band_hiss",
    "evenness": None,
    "overall": "leq_a",
}


@dataclass(frozen=True, slots=True)
class StudySettings:
    """The settings of one study as they are now.

    Attributes
    ----------
    planned_evaluators
        How many the lead planned; None when it was never said.
    attribute_figures
        By the key of each attribute of the study, the key of the figure that is named beside it;
        None without one, see `no_figure_words`.
    lead_words
        What the lead wrote, by place; a place that is not there keeps the program's words.
    """

    limits: Limits = field(default_factory=Limits)
    planned_evaluators: int | None = None
    attribute_figures: Mapping[str, str | None] = field(default_factory=dict)
    lead_words: Mapping[Place, str] = field(default_factory=dict)


def figures_beside(
    attributes: Sequence[Attribute], bands: Sequence[Band], chosen: Mapping[str, str | None]
) -> dict[str, str | None]:
    """Return the figure that stands beside each attribute, by the keys of both.

    Parameters
    ----------
    bands
        Those that are measured: a band that is not among them is named beside nothing.
    chosen
        What the lead chose, which goes before the default.
    """
    return {each.key: _figure_beside(each, bands, chosen) for each in attributes}


def _figure_beside(
    attribute: Attribute, bands: Sequence[Band], chosen: Mapping[str, str | None]
) -> str | None:
    if attribute.key in chosen:
        figure = chosen[attribute.key]
        return figure if figure is not None and is_measured(figure, bands) else None
    figure = DEFAULT_FIGURES.get(attribute.key)
    if figure is not None and is_measured(figure, bands):
        return figure
    own = (attribute.low_hz, attribute.high_hz)
    return next((f"band_{b.key}" for b in bands if (b.low_hz, b.high_hz) == own), None)


def is_measured(figure: str, bands: Sequence[Band]) -> bool:
    """Tell whether a figure of this key is measured with these bands."""
    if figure.startswith("band_"):
        return figure in {f"band_{band.key}{end}" for band in bands for end in ("", "_a")}
    return title_of(figure) != figure


def no_figure_words(attribute: Attribute) -> str:
    """Say that nothing measured is named beside an attribute, as part of a sentence."""
    kind = "band" if attribute.band_text else "figure"
    return f"no {kind} is named for {attribute.name.lower()}"
