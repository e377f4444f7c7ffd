import pytest

from app.lead.panel.exposure import HEADINGS, RULES, panel_exposure
from ratings.storage.exposure_rows import Played

HOUR = 3600.0


def judged(week, today=None):
    """Judge people given as {code: [(hours, level), ...]}; today alike unless given."""

    def played(people):
        return {code: [Played(h * HOUR, level) for h, level in p] for code, p in people.items()}

    return panel_exposure(played(week if today is None else today), played(week))


def test_that_everyone_who_was_played_something_has_minutes_level_and_dose():
    shown = judged({"E1": [(2.0, 80.0)], "E2": []}, today={"E1": [(0.5, 85.0)], "E2": []})
    assert [row.evaluator for row in shown.rows] == ["E1"]
    # 0.5 h of 8 h; 2 h of 40 h at the level of the rule.
    assert shown.rows[0].cells == ("30 min", "85 dB(A)", "6 %", "2 h", "80 dB(A)", "5 %")
    assert len(shown.rows[0].cells) == len(HEADINGS)
    assert not shown.rows[0].is_over


def test_that_an_unknown_level_is_said_and_is_in_no_dose():
    rows = judged({"E1": [(0.5, None)], "E2": [(0.5, 70.0), (0.5, None)]}).rows
    assert rows[0].cells[:3] == ("30 min", "not known", "not known")
    assert rows[1].cells[:3] == ("1 h", "70 dB(A)\nin 30 min", "under 1 %")


def test_that_a_day_of_rest_in_the_week_is_a_dash():
    row = judged({"E1": [(1.0, 75.0)]}, today={"E1": []}).rows[0]
    assert row.cells[:3] == ("-", "-", "-")
    assert row.cells[3:5] == ("1 h", "75 dB(A)")


@pytest.mark.parametrize(
    ("week", "today", "finding"),
    [
        ({"E1": []}, None, "Nobody has listened in the last 7 days."),
        (
            {"E1": [(1, 70.0)]},
            None,
            "Nobody has reached half of a dose, neither of a day's nor of a week's.",
        ),
        (
            {"E1": [(1, 70.0), (1, None)]},
            None,
            "Nobody has reached half of a dose, as far as the levels are known.",
        ),
        (
            {"E1": [(1, None)]},
            None,
            "No level is known, so no dose: recordings and output must both be calibrated.",
        ),
        ({"E1": [(4, 85.0)]}, None, "E1 has reached half of a day's dose today."),
        (
            {"E1": [(8, 85.0)], "E2": [(1, 70.0)], "E3": [(9, 85.0)]},
            None,
            "E1 and E3 have reached a full day's dose today: let them rest until tomorrow.",
        ),
        (
            {"E1": [(20, 80.0)]},
            {"E1": []},
            "E1 has reached half of a week's dose in the last 7 days.",
        ),
        (
            {"E1": [(40, 80.0)], "E2": [(4, 90.0)], "E3": [(41, 80.0)]},
            {},
            "E1, E2 and E3 have reached a week's dose in the last 7 days: let them rest.",
        ),
    ],
)
def test_that_the_finding_is_the_worst_of_it(week, today, finding):
    assert judged(week, today).finding == finding


def test_that_who_is_over_a_dose_is_marked():
    rows = judged({"E1": [(8, 85.0)], "E2": [(1, 70.0)]}).rows
    assert [row.is_over for row in rows] == [True, False]
    # ITU-T H.870: 1.6 Pa2h a week; 4 h at 90 dB(A), from memory of its table.
    assert judged({"E1": [(4, 90.0)]}, today={}).rows[0].is_over


def test_that_the_rules_are_named_and_the_site_comes_first():
    assert "NIOSH 98-126" in RULES
    assert "ITU-T H.870" in RULES
    assert RULES.endswith("Site rules and local codes come first.")
