"""Every sentence about agreement held against its figures, on some hundred generated tables."""

import re

import numpy as np
import pytest
from benchmarks.false_claims import Panel, invented
from small_tables import score_table

from ratings.commands.agree import as_details, as_text
from ratings.findings.agreement import CERTAIN, USABLE_W, agreement
from ratings.findings.agreement_words import headline, without_flagged_finding
from ratings.study.attributes import Scale
from ratings.study.constants import ALPHA
from ratings.study.wording import spoken

ANSWERS = {
    "well": "Agrees: ",
    "loosely": "Agrees only loosely: ",
    "not certain": "Agrees, but ",
    "not above chance": "Not above chance: ",
    "unknown": "Too few to tell",
}
#: What stands last before an attribute's name in a heading, and what it says of it.
SAID = {
    "only loosely on ": {"loosely"},
    "in single conditions on ": {"in conditions"},
    "not on ": {"not above chance"},
    "does not agree on ": {"not above chance"},
    "Nobody told the sets apart on ": {"flat"},
    "also on ": {"not certain"},
    "agrees on ": {"well", "not certain"},
}
PANELS = (
    Panel(attributes=3),
    Panel(attributes=3, effect=0.8),
    Panel(attributes=4, effect=0.8, evaluators=3),
    Panel(attributes=2, effect=1.5, taste=0.1, evaluators=2, sets=6),
    Panel(attributes=3, effect=0.4, evaluators=9, sets=3),
    Panel(attributes=2, effect=0.8, conditions=1),
    Panel(attributes=3, effect=0.9, use=0.25, wild=1, is_paired=True, hidden=True),
    Panel(attributes=4, effects=(0.0, 1.2, -0.8, 0.0), swing=2.5),
)


def tables():
    """Yield small tables of every awkward kind, and panels of every size with contrary people."""
    for seed in range(180):
        yield score_table(np.random.default_rng([21, seed]))
    for seed in range(15):
        for panel in PANELS:
            rng = np.random.default_rng([22, seed])
            table = invented(panel, rng)
            contrary = table["evaluator"].isin([f"E{n + 1}" for n in range(rng.integers(0, 3))])
            table.loc[contrary, "score"] = 11 - table.loc[contrary, "score"]
            table["attribute"] = "big_" + table["attribute"]
            yield table if seed % 3 else table.iloc[: int(0.7 * len(table))]


def sentence_holds(block):
    """Hold a block's sentence and words against its figures."""
    kendall, said = block.kendall, block.sentence
    if kendall.w is None:
        assert said.startswith(block.reason)
        assert block.degree == "unknown"
        return
    assert said.startswith(ANSWERS[block.degree])
    assert f"W {kendall.w:.2f}" in said
    panel = re.search(r"(\d+) evaluators?, (\d+) sets?\.", said)
    assert (int(panel[1]), int(panel[2])) == (kendall.evaluators, kendall.sets)
    agrees = block.degree in (*CERTAIN, "not certain")
    assert agrees == bool(block.agrees)
    assert agrees == (block.p_holm <= ALPHA)
    if block.degree in CERTAIN:
        assert kendall.evaluators >= 3
        assert kendall.w > 1 - 1e-9 or kendall.lower > 1 / kendall.evaluators
        assert (block.degree == "well") == (kendall.w >= USABLE_W)
    if between := re.search(r"95 %: (\d\.\d\d) to (\d\.\d\d)", said):
        assert between.groups() == (f"{kendall.lower:.2f}", f"{kendall.upper:.2f}")
    if limit := re.search(r"explains values below (\d\.\d\d)", said):
        # The word and the limit that the same sentence names never part.
        assert (kendall.w >= block.chance_w - 1e-9) == agrees
        assert limit[1] == f"{block.chance_w:.2f}"


def conditions_hold(block, blocks):
    """Hold what is said of single conditions against their own blocks."""
    single = {b.condition: b for b in blocks if b.attribute == block.attribute and b.condition}
    for title, w in zip(block.agrees_in, block.w_in, strict=True):
        assert block.degree not in CERTAIN
        assert single[title].degree in CERTAIN
        assert single[title].p_holm <= 0.01
        assert single[title].kendall.w == w
        assert f"{title} (W {w:.2f})" in block.sentence


def heading_holds(blocks, condition):
    """Read a heading back: which of its parts names an attribute, and whether that is so."""
    chosen = [block for block in blocks if block.condition == condition]
    said = headline(blocks, condition)
    if said == "The panel agrees on every attribute.":
        assert {block.degree for block in chosen} == {"well"}
        return
    if said == "The panel does not agree on any attribute yet.":
        assert {block.degree for block in chosen} == {"not above chance"}
        return
    for block in chosen:
        name = spoken(block.attribute)
        degree = block.degree
        if block.agrees_in:
            degree = "in conditions"
        elif block.nobody_discriminates:
            degree = "flat"
        place = re.search(rf"\b{name}\b", said)
        if place is None:
            assert degree in ("unknown", "flat") or " more" in said
            assert degree != "flat" or said == "Nobody told the sets apart."
            continue
        before = max(SAID, key=lambda words: said.rfind(words, 0, place.start()))
        assert degree in SAID[before], (said, name, degree)
        if degree == "not certain":
            assert "but how well is not certain" in said[place.end() :]
    assert len(said) < 200


def flagged_line_holds(blocks, condition):
    """Hold W without the flagged evaluators against the blocks."""
    said = without_flagged_finding(blocks, condition)
    by_name = {spoken(b.attribute): b for b in blocks if b.condition == condition}
    found = re.findall(r"(\d\.\d\d) on ([\w ]+?) \((\d\.\d\d) with all\)", said)
    assert bool(found) == bool(said)
    for without, name, everyone in found:
        block = by_name[name]
        assert without == f"{block.without_flagged.w:.2f}"
        assert everyone == f"{block.kendall.w:.2f}"
        assert block.without_flagged.w > block.kendall.w
        flagged = [e.evaluator for e in block.evaluators_detail if e.reasons]
        assert all(re.search(rf"\b{who}\b", said.split(", who")[0]) for who in flagged)
        assert block.degree not in ("well", "unknown") or block.degree_without != block.degree


@pytest.mark.slow
def test_that_no_sentence_about_agreement_contradicts_its_figures():
    seen, count = set(), 0
    for table in tables():
        count += 1
        blocks = agreement(table, Scale())
        for block in blocks:
            sentence_holds(block)
            conditions_hold(block, blocks)
            seen |= {block.degree, "in conditions" if block.agrees_in else ""}
        for condition in {block.condition for block in blocks}:
            heading_holds(blocks, condition)
            flagged_line_holds(blocks, condition)
            seen |= {"flagged"} if without_flagged_finding(blocks, condition) else set()
        for text in (as_text(blocks), as_details(blocks)):
            assert text.startswith(headline(blocks))
            assert not re.search(r"\b(nan|inf|None)\b|attribute_|big_", text)
        assert as_text(blocks).count("\n") <= 25
    assert count == 300
    # The tables do say each of what can be said.
    assert seen >= {*ANSWERS, "in conditions", "flagged"}
