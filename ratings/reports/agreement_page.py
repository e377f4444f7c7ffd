"""The agreement page as a document."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path

from ratings.findings.agreement import AttributeAgreement, agreement
from ratings.findings.agreement_words import (
    headline,
    unworked_words,
    without_flagged_finding,
)
from ratings.reports.agreement_tables import (
    condition_table,
    deviation_map,
    fitness_table,
    icc_table,
)
from ratings.reports.document import (
    INVENTED,
    Block,
    Bullets,
    Columns,
    Document,
    Paragraph,
    Section,
)
from ratings.reports.figure_words import (
    FLAG_WORDS,
    SIDE_BIAS_WORDS,
    icc_sentence,
    without_flagged_words,
)
from ratings.reports.plots.concordance import concordance_plot
from ratings.reports.writing import write_document
from ratings.reports.written_notes import WrittenNote, notes_section, written_notes
from ratings.storage.blind_study import utc_now
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.study_folder import Study, open_study
from ratings.study.program_version import program_version
from ratings.study.wording import counted

#: An attribute with no more evaluators than this fits on one printed A4 page: measured with six
#: sets and with every evaluator standing out, and 14 still fitted with four who did.
MOST_EVALUATORS_ON_A_PAGE = 12

#: More sets than this leave no room for two maps side by side.
_MOST_SETS_ABREAST = 6

#: Methods with their sources, as the page's last section lists them.
METHODS = (
    "Kendall's W with ties corrected, from each evaluator's mean score of a set: Kendall and "
    "Babington Smith 1939, Ann. Math. Statist. 10:275-287. Its p is exact for small panels and "
    "from F above; its interval is a jackknife over evaluators on Fisher's z of k. It is said to "
    "agree where W is above chance and the interval lies above 1/k, what chance gives on average.",
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
    date, version
        When and by which version the page was written.
    """

    study_name: str
    note: str
    date: datetime
    version: str
    is_invented: bool = False
    attribute_names: Mapping[str, str] = field(default_factory=dict)
    conditions: tuple[str, ...] = ()


def page_facts(study: Study, now: datetime) -> PageFacts:
    """Return what a page says about a study, dated `now`."""
    return PageFacts(
        study_name=study.facts.name,
        note=study.facts.note,
        date=now,
        version=program_version(),
        is_invented=study.facts.is_invented,
        attribute_names={attribute.key: attribute.name for attribute in study.attributes},
        conditions=tuple(condition.title for condition in LeadDesk(study).conditions()),
    )


def agreement_document(
    facts: PageFacts,
    blocks: Sequence[AttributeAgreement],
    notes: Sequence[WrittenNote] = (),
    unworked: Sequence[str] = (),
) -> Document:
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
    sections = []
    if overall:
        plot = concordance_plot(overall, facts.attribute_names)
        sections.append(Section("Do they rank the sets alike?", (plot,)))
        numbers = icc_table(overall, facts.attribute_names)
        sections.append(Section("Do they give the same numbers?", (numbers,)))
    if single:
        sections.append(_condition_section(facts, single))
    sections += [_attribute_section(facts, block) for block in overall]
    sections += [notes_section(notes), _method_section(facts)]
    return Document(
        headline(overall),
        f"{facts.study_name}: agreement",
        facts.date,
        head=f"{facts.study_name}: agreement of the panel",
        head_end=f"{facts.date:%Y-%m-%d}",
        foot="Sets stay coded.",
        opening=_opening(facts, overall, unworked),
        sections=tuple(sections),
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
        page = agreement_document(
            page_facts(study, clock()), blocks, written_notes(desk.note_table())
        )
    finally:
        study.close()
    return write_document(page, destination)


def _opening(
    facts: PageFacts, overall: Sequence[AttributeAgreement], unworked: Sequence[str]
) -> tuple[Block, ...]:
    evaluators = {evaluator for block in overall for evaluator in block.evaluators}
    sets = {code for block in overall for code in block.sets}
    parts = [
        Paragraph(
            f"{facts.study_name}. {counted(len(evaluators), 'evaluator')}, "
            f"{counted(len(sets), 'coded set')}, {counted(len(facts.conditions), 'condition')}. "
            "Sets stay coded.",
            "lead",
        )
    ]
    without = without_flagged_finding(overall)
    if without:
        parts.append(Paragraph(without))
    if facts.is_invented:
        parts.append(Paragraph(INVENTED, "notice"))
    if unworked:
        names = [facts.attribute_names.get(key, key) for key in unworked]
        parts.append(Paragraph(unworked_words(names), "notice"))
    if facts.note:
        parts.append(Paragraph(facts.note, "soft"))
    return tuple(parts)


def _condition_section(facts: PageFacts, single: Sequence[AttributeAgreement]) -> Section:
    seen = {block.condition for block in single}
    conditions = [title for title in facts.conditions if title in seen]
    conditions += sorted(title for title in seen if title and title not in conditions)
    table = condition_table(single, facts.attribute_names, conditions)
    return Section("Does it depend on the condition?", (table,))


def _attribute_section(facts: PageFacts, block: AttributeAgreement) -> Section:
    maps = (
        deviation_map(block, block.deviations, "Deviation from the panel"),
        deviation_map(block, block.level_free_deviations, "Each evaluator's mean subtracted"),
    )
    is_narrow = len(block.sets) <= _MOST_SETS_ABREAST
    beside: tuple[Block, ...] = (Columns(maps[:1], maps[1:]),) if is_narrow else maps
    return Section(
        facts.attribute_names.get(block.attribute, block.attribute),
        (
            Paragraph(f"{block.sentence} {icc_sentence(block.icc)}"),
            *(Paragraph(note, "soft") for note in block.notes),
            *beside,
            Paragraph(
                "In score points; + scores the set higher than the panel's mean, that is quieter "
                f"or better, − lower. {counted(len(block.evaluators), 'evaluator')}, "
                f"{counted(len(block.sets), 'set')}, {counted(block.missing, 'cell')} without a "
                "score.",
                "small",
            ),
            replace(fitness_table(block), caption=_steadiness_words(block)),
        ),
        starts_page=len(block.evaluators) <= MOST_EVALUATORS_ON_A_PAGE,
    )


def _steadiness_words(block: AttributeAgreement) -> str:
    legend = (
        f"Errors and bias in score points; {SIDE_BIAS_WORDS}; separates sets: whether they differ "
        "by more than the evaluator's own scatter, with the F test and its p; !: flagged; "
        f"{FLAG_WORDS}."
    )
    return f"{without_flagged_words(block)} {legend}".strip()


def _method_section(facts: PageFacts) -> Section:
    written = f"Written {facts.date:%Y-%m-%d %H:%M} UTC by Twinset {facts.version}."
    blocks = (Bullets(METHODS, "small"), Paragraph(written, "small"))
    return Section("How it was worked out", blocks, is_appendix=True)
