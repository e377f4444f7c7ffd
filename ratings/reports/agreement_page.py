"""The agreement page as one HTML file that needs nothing beside it."""

import contextlib
import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from html import escape
from pathlib import Path

from ratings.errors import StudyError, reason_of
from ratings.findings.agreement import AttributeAgreement, agreement
from ratings.findings.agreement_words import headline, unworked_words
from ratings.reports.agreement_tables import (
    condition_table,
    deviation_map,
    fitness_table,
    icc_table,
)
from ratings.reports.concordance_figure import concordance_svg
from ratings.reports.figure_words import (
    FLAG_WORDS,
    SIDE_BIAS_WORDS,
    icc_sentence,
    threshold_words,
    without_flagged_words,
)
from ratings.reports.page_style import page_style
from ratings.reports.written_notes import WrittenNote, notes_section, written_notes
from ratings.storage.blind_study import utc_now
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.study_folder import Study, open_study
from ratings.study.program_version import program_version
from ratings.study.wording import counted

#: An attribute with no more evaluators than this fits on one printed A4 page: measured with six
#: sets and with every evaluator standing out, and 14 still fitted with four who did.
MOST_EVALUATORS_ON_A_PAGE = 12

#: Methods with their sources, as the page's footer lists them.
METHODS = (
    "Kendall's W with ties corrected, from each evaluator's mean score of a set: Kendall and "
    "Babington Smith 1939, Ann. Math. Statist. 10:275-287. Its p is exact for small panels and "
    "from F above; its interval is a jackknife over evaluators, rough below six of them.",
    "ICC(A,1) and ICC(A,k), absolute agreement, evaluators and sets taken as random: McGraw and "
    "Wong 1996, Psychological Methods 1:30-46. Words for it: Koo and Li 2016, J. Chiropr. Med. "
    "15:155-163, limits from memory. By mean squares where every evaluator rated every set, else "
    "by restricted maximum likelihood.",
    "An evaluator is flagged over all attributes and conditions together, for scatter off the own "
    "picture of the sets beside the others' scatter, for not following the differences that the "
    "others hear, for errors on hidden pairs that the others' scatter does not explain, for a side "
    "bias beyond half a point, or for one score throughout (quantities after ISO 11132, from "
    "memory). All these p are adjusted together (Holm, 10 %); how evenly sound evaluators scatter "
    "is our judgement. From four evaluators on. Of invented panels of sound evaluators, each of "
    "them was flagged in about 1 % of studies.",
    "One score to check lies farther from the others' median, at the evaluator's own level, than "
    "chance takes any score of the study, three points and a half at least, and twice as far as "
    "anybody else's score there: perhaps a slip, and no flag.",
    "Time per pair is the median from opening a pair to closing it, over all pairs. It is flagged "
    "below half of the panel's time and below two hearings of both sides, from five pairs and "
    "three evaluators on: our judgement, a setting.",
    "Flagged evaluators stay in every other figure.",
    "Scores run from 1 to 10, and 10 means that there is nothing to hear.",
)


@dataclass(frozen=True, slots=True)
class PageFacts:
    """What a page says beside the figures.

    Attributes
    ----------
    note
        The study's own note; may be empty.
    attribute_names
        What the form shows, by the attribute's key.
    conditions
        Titles in the order of the plan.
    date_text, version
        When and by which version the page was written.
    """

    study_name: str
    note: str
    date_text: str
    version: str
    is_invented: bool = False
    attribute_names: Mapping[str, str] = field(default_factory=dict)
    conditions: tuple[str, ...] = ()


def page_facts(study: Study, now: datetime) -> PageFacts:
    """Return what a page says about a study, dated `now`."""
    return PageFacts(
        study_name=study.facts.name,
        note=study.facts.note,
        date_text=f"{now:%Y-%m-%d %H:%M} UTC",
        version=program_version(),
        is_invented=study.facts.is_invented,
        attribute_names={attribute.key: attribute.name for attribute in study.attributes},
        conditions=tuple(condition.title for condition in LeadDesk(study).conditions()),
    )


def agreement_html(
    facts: PageFacts,
    blocks: Sequence[AttributeAgreement],
    notes: Sequence[WrittenNote] = (),
    unworked: Sequence[str] = (),
) -> str:
    """Return the page; sets appear under their blind codes only.

    Parameters
    ----------
    blocks
        As `ratings.findings.agreement.agreement` returns them.
    notes
        What evaluators wrote, of all conditions.
    unworked
        Attributes that the program failed to judge.
    """
    overall = [block for block in blocks if block.condition is None]
    single = [block for block in blocks if block.condition is not None]
    parts = [_head(facts, overall)]
    if unworked:
        names = [facts.attribute_names.get(key, key) for key in unworked]
        parts.append(f'<p class="notice">{escape(unworked_words(names))}</p>')
    if overall:
        parts.append(_order_section(facts, overall))
        parts.append(
            f"<section><h2>Do they give the same numbers?</h2>"
            f"{icc_table(overall, facts.attribute_names)}</section>"
        )
    if single:
        parts.append(_condition_section(facts, single))
    parts += [_attribute_section(facts, block) for block in overall]
    parts.append(notes_section(notes))
    parts.append(_footer(facts))
    title = escape(f"{facts.study_name}: agreement")
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{title}</title><style>{page_style()}</style></head>"
        f"<body><main>{''.join(parts)}</main></body></html>\n"
    )


def write_agreement_page(
    study_folder_path: Path, destination: Path, clock: Callable[[], datetime] = utc_now
) -> Path:
    """Judge the agreement in a study and write the page, whole or not at all.

    Raises
    ------
    StudyError
        When the study cannot be opened or the page cannot be written.
    """
    study = open_study(study_folder_path)
    try:
        study.refuse_changed_rows()
        desk = LeadDesk(study)
        blocks = agreement(desk.score_table(), study.facts.scale, pair_times=desk.pair_times())
        page = agreement_html(page_facts(study, clock()), blocks, written_notes(desk.note_table()))
    finally:
        study.close()
    return write_page(page, destination)


def write_page(page: str, destination: Path) -> Path:
    """Write a page, whole or not at all; return where it is."""
    beside = destination.with_name(f".{destination.name}.{os.getpid()}.part")
    try:
        beside.write_text(page, encoding="utf-8")
        beside.replace(destination)
    except OSError as problem:
        with contextlib.suppress(OSError):
            beside.unlink(missing_ok=True)
        raise StudyError(
            f"{destination.name} could not be written: {reason_of(problem)}.",
            "Choose another place; the scores in the study are safe.",
        ) from problem
    return destination


def _head(facts: PageFacts, overall: Sequence[AttributeAgreement]) -> str:
    evaluators = {evaluator for block in overall for evaluator in block.evaluators}
    sets = {code for block in overall for code in block.sets}
    stands_on = (
        f"{facts.study_name}. {counted(len(evaluators), 'evaluator')}, "
        f"{counted(len(sets), 'coded set')}, {counted(len(facts.conditions), 'condition')}. "
        "Sets stay coded."
    )
    parts = [f"<h1>{escape(headline(overall))}</h1>", f'<p class="soft">{escape(stands_on)}</p>']
    if facts.is_invented:
        parts.append(
            '<p class="notice">Invented data: this vehicle, these sets and these evaluators do '
            "not exist, and the scores are made up.</p>"
        )
    if facts.note:
        parts.append(f'<p class="soft">{escape(facts.note)}</p>')
    return f"<header>{''.join(parts)}</header>"


def _order_section(facts: PageFacts, overall: Sequence[AttributeAgreement]) -> str:
    caption = (
        f"{threshold_words(overall)} Filled: above chance "
        "(adjusted p at most 0.05). Open: not. All conditions together."
    )
    return (
        "<section><h2>Do they rank the sets alike?</h2>"
        f"<p class='soft'>Kendall's W with its 95 % interval</p>"
        f"<figure><div class='wide'>{concordance_svg(overall, facts.attribute_names)}</div>"
        f"<figcaption>{escape(caption)}</figcaption></figure></section>"
    )


def _condition_section(facts: PageFacts, single: Sequence[AttributeAgreement]) -> str:
    seen = {block.condition for block in single}
    conditions = [title for title in facts.conditions if title in seen]
    conditions += sorted(title for title in seen if title and title not in conditions)
    return (
        "<section><h2>Does it depend on the condition?</h2>"
        f"{condition_table(single, facts.attribute_names, conditions)}"
        "<p><small>Kendall's W; * above chance (p at most 0.05, adjusted for all W of "
        "this table); in brackets evaluators × sets.</small></p></section>"
    )


def _attribute_section(facts: PageFacts, block: AttributeAgreement) -> str:
    name = facts.attribute_names.get(block.attribute, block.attribute)
    fits = len(block.evaluators) <= MOST_EVALUATORS_ON_A_PAGE
    kind = "attribute page" if fits else "attribute"
    notes = "".join(f'<p class="soft">{escape(note)}</p>' for note in block.notes)
    maps = deviation_map(block, block.deviations, "Deviation from the panel") + deviation_map(
        block, block.level_free_deviations, "Each evaluator's mean subtracted"
    )
    return (
        f'<section class="{kind}"><h2>{escape(name)}</h2><p>{escape(block.sentence)} '
        f"{escape(icc_sentence(block.icc))}</p>{notes}"
        f'<div class="pair">{maps}</div>'
        "<p><small>In score points; + scores the set higher than the panel's mean, that is quieter "
        f"or better, − lower. {counted(len(block.evaluators), 'evaluator')}, "
        f"{counted(len(block.sets), 'set')}, {counted(block.missing, 'cell')} without a score."
        "</small></p>"
        f"<figure><h3>How consistent is each evaluator?</h3>{fitness_table(block)}"
        f"<figcaption>{escape(_steadiness_words(block))}</figcaption></figure></section>"
    )


def _steadiness_words(block: AttributeAgreement) -> str:
    legend = (
        f"Errors and bias in score points; {SIDE_BIAS_WORDS}; separates sets: whether they differ "
        "by more than the evaluator's own scatter, with the F test and its p; !: flagged; "
        f"{FLAG_WORDS}."
    )
    return f"{without_flagged_words(block)} {legend}".strip()


def _footer(facts: PageFacts) -> str:
    methods = "".join(f"<li>{escape(method)}</li>" for method in METHODS)
    return (
        f"<footer><h3>How it was worked out</h3><ul>{methods}</ul>"
        f"<p>Written {escape(facts.date_text)} by Twinset {escape(facts.version)}.</p></footer>"
    )
