import csv

import pytest
from studies import SETS, Clock, hear_both, rate_pair, small_study

from ratings.errors import ScoreTableError
from ratings.storage.lead_desk import LeadDesk
from ratings.storage.listening_desk import ListeningDesk, session_seats
from ratings.study.score_table import read_score_table, write_score_table


@pytest.fixture
def study(tmp_path):
    study = small_study(tmp_path, sets=3, conditions=2)
    yield study
    study.close()


@pytest.fixture
def desk(study):
    return LeadDesk(study, Clock())


def code_of(study, name):
    import sqlalchemy as sa

    with study.engine.connect() as connection:
        query = sa.text("SELECT code FROM tyre_set WHERE name = :name")
        return connection.execute(query, {"name": name}).scalar_one()


def origin_of(study):
    """Which set each clip is of, read past the desks."""
    import sqlalchemy as sa

    query = sa.text(
        "SELECT clip_source.clip_id, tyre_set.code FROM clip_source "
        "JOIN recording USING (recording_id) JOIN tyre_set USING (set_id)"
    )
    with study.engine.connect() as connection:
        return dict(connection.execute(query).all())


def rate_all(study, seat_number=0):
    """Rate a whole session, every score its own; return what was given."""
    listening = ListeningDesk(study, session_seats(study)[seat_number].session_id, Clock())
    given = {}
    steps = 0
    for pair in listening.pairs:
        hear_both(listening, pair.pair_id)
        for attribute in listening.attributes_of(pair):
            a, b = 1 + steps % 37 * 0.25, 1 + (steps + 5) % 37 * 0.25
            listening.record_scores(pair.pair_id, attribute.key, {"A": a, "B": b})
            given[pair.position, "A", attribute.key] = a
            given[pair.position, "B", attribute.key] = b
            steps += 1
        listening.lock(pair.pair_id)
    return listening, given


def write_table(path, rows, header=("evaluator", "set", "condition", "attribute", "score")):
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows([header, *rows])
    return path


COARSE = "coarse asphalt, 80 km/h"


def test_that_the_table_holds_every_score_that_was_given_and_no_other(study, desk):
    listening, given = rate_all(study)
    table = desk.score_table()
    found = {(r.pair, r.side, r.attribute): r.score for r in table.itertuples()}
    assert found == given
    assert len(table) == len(given)
    assert set(table["evaluator"]) == {"E1"}
    assert set(table["origin"]) == {"listened"}
    assert list(table.columns[:10]) == [
        "evaluator",
        "set",
        "condition",
        "attribute",
        "repeat",
        "score",
        "pair",
        "side",
        "origin",
        "given_at",
    ]
    titles = {pair.position: pair.condition_title for pair in listening.pairs}
    assert all(titles[row.pair] == row.condition for row in table.itertuples())


def test_that_each_score_stands_under_the_code_of_the_set_that_was_heard(study, desk):
    listening, _ = rate_all(study)
    origins = origin_of(study)
    expected = {
        (pair.position, side): origins[pair.clip(side).clip_id]
        for pair in listening.pairs
        for side in ("A", "B")
    }
    table = desk.score_table()
    assert {(r.pair, r.side): r.set for r in table.itertuples()} == expected
    assert set(table["set"]) == set(desk.codes())


def test_that_null_pairs_and_repeats_carry_their_role(study, desk):
    rate_all(study)
    table = desk.score_table()
    null = table[table["role"] == "null"]
    assert len(null)
    assert set(null["set"]) == {desk.control_code()}
    repeat = table[table["role"] == "repeat"]
    assert len(repeat)
    for row in repeat.itertuples():
        others = table[
            (table["role"] == "candidate")
            & (table["set"] == row.set)
            & (table["condition"] == row.condition)
        ]
        assert len(others)


def test_that_the_repeats_of_a_cell_are_numbered_in_the_order_they_were_heard(study, desk):
    rate_all(study)
    table = desk.score_table()
    cells = table.groupby(["evaluator", "set", "condition", "attribute"])
    assert max(len(cell) for _, cell in cells) > 1
    for _, cell in cells:
        assert list(cell["repeat"]) == list(range(1, len(cell) + 1))
        assert list(cell["pair"]) == sorted(cell["pair"])


def test_that_a_corrected_score_counts_once_with_its_last_value(study, desk):
    listening = ListeningDesk(study, session_seats(study)[0].session_id, Clock())
    pair_id = listening.pairs[0].pair_id
    hear_both(listening, pair_id)
    listening.record_scores(pair_id, "boom", {"A": 3.0})
    listening.record_scores(pair_id, "boom", {"A": 8.0})
    assert desk.score_table()["score"].tolist() == [8.0]
    listening.record_scores(pair_id, "boom", {"A": None})
    assert len(desk.score_table()) == 0


def test_that_a_later_change_of_one_side_takes_no_difference_back_from_both(study, desk):
    listening = ListeningDesk(study, session_seats(study)[0].session_id, Clock())
    pair_id = listening.pairs[0].pair_id
    hear_both(listening, pair_id)
    listening.record_scores(pair_id, "rumble", {"A": 7.0, "B": 7.0}, said_equal=True)
    for later, told in (({"A": 5.0}, 0), ({"A": 6.0, "B": 6.0}, 1), ({"B": None}, 0)):
        listening.record_scores(pair_id, "boom", later, said_equal=bool(told))
        table = desk.score_table()
        assert set(table.query("attribute == 'boom'")["no_difference"]) == {told}
    assert table.query("attribute == 'rumble'")["no_difference"].tolist() == [1, 1]


def test_that_repeats_go_on_after_listened_scores_that_were_brought_in(study, desk, tmp_path):
    listening = ListeningDesk(study, session_seats(study)[0].session_id, Clock())
    code = desk.control_code()
    header = ("evaluator", "set", "condition", "attribute", "score", "repeat", "origin")
    rows = [
        ("E1", code, COARSE, "boom", 6, 1, "listened"),
        ("E1", code, COARSE, "boom", 6, 3, "listened"),
        ("E1", code, COARSE, "boom", 6, 2, "driven"),
    ]
    desk.bring_scores(write_table(tmp_path / "a.csv", rows, header))
    for pair in listening.pairs:
        rate_pair(listening, pair)
    table = desk.score_table()
    assert not table.duplicated(
        ["evaluator", "set", "condition", "attribute", "repeat", "origin"]
    ).any()
    cell = table.query("set == @code and condition == @COARSE and attribute == 'boom'")
    own = cell.dropna(subset="pair")["repeat"].tolist()
    assert own == [2, *range(4, len(own) + 3)]
    # What was told stays so when more is brought in.
    more = [("E1", code, COARSE, "boom", 6, own[-1] + 1, "listened")]
    desk.bring_scores(write_table(tmp_path / "b.csv", more, header))
    again = desk.score_table().dropna(subset="pair")
    assert again["repeat"].tolist() == table.dropna(subset="pair")["repeat"].tolist()


def test_that_the_own_table_with_driven_scores_is_read_again(study, desk, tmp_path):
    rate_all(study)
    desk.bring_scores(write_table(tmp_path / "a.csv", [("E1", "Maple", COARSE, "boom", 7)]))
    table = desk.score_table()
    write_score_table(table, tmp_path / "out.csv")
    assert len(read_score_table(tmp_path / "out.csv")) == len(table)


@pytest.mark.parametrize("repeat", ["am", "0", "1.5", "-1"])
def test_that_a_repeat_that_is_no_number_is_refused_with_its_place(desk, tmp_path, repeat):
    header = ("evaluator", "set", "condition", "attribute", "score", "repeat")
    rows = [("Z1", "Maple", COARSE, "boom", 7, 1), ("Z1", "Birch", COARSE, "boom", 7, repeat)]
    with pytest.raises(ScoreTableError, match=f'row 3, column repeat: "{repeat}" does not number'):
        desk.bring_scores(write_table(tmp_path / "a.csv", rows, header))
    assert len(desk.score_table()) == 0


def test_that_a_set_named_like_the_code_of_another_is_refused_beside_names(tmp_path, study, desk):
    import sqlalchemy as sa

    code = code_of(study, "Maple")
    with study.engine.begin() as connection:
        connection.execute(
            sa.text("UPDATE tyre_set SET name = :code WHERE name = 'Birch'"), {"code": code}
        )
    rows = [("Z1", code, COARSE, "boom", 7), ("Z1", "Larch", COARSE, "boom", 7)]
    path = write_table(tmp_path / "a.csv", rows)
    with pytest.raises(ScoreTableError, match=f'row 2, column set: "{code}" may mean more'):
        desk.bring_scores(path)
    by_code = [("Z1", c, COARSE, "boom", 7) for c in desk.codes()]
    assert desk.bring_scores(write_table(tmp_path / "b.csv", by_code)) == 3


def test_that_the_codes_are_told_in_an_order_that_says_nothing(desk):
    assert desk.codes() == tuple(sorted(desk.codes()))
    assert desk.control_code() in desk.codes()


def test_that_the_last_change_moves_with_every_kind_of_entry(study, desk, tmp_path):
    seen = [desk.last_change()]
    listening = ListeningDesk(study, session_seats(study)[0].session_id, Clock())
    hear_both(listening, listening.pairs[0].pair_id)
    seen.append(desk.last_change())
    listening.record_scores(listening.pairs[0].pair_id, "boom", {"A": 3.0})
    seen.append(desk.last_change())
    desk.bring_scores(write_table(tmp_path / "a.csv", [("Z1", "Maple", COARSE, "boom", 7)]))
    seen.append(desk.last_change())
    assert len(set(seen)) == len(seen)


def test_that_notes_come_with_their_set_and_the_last_wording_counts(study, desk):
    listening = ListeningDesk(study, session_seats(study)[0].session_id, Clock())
    pair = listening.pairs[0]
    listening.record_opened(pair.pair_id)
    listening.record_note(pair.pair_id, "A", "a whistle")
    listening.record_note(pair.pair_id, "A", "a whistle near the end")
    listening.record_note(pair.pair_id, "B", "calm")
    listening.record_note(pair.pair_id, "B", "")
    notes = desk.note_table()
    assert notes["text"].tolist() == ["a whistle near the end"]
    assert notes["set"].tolist() == [origin_of(study)[pair.clip_a.clip_id]]


@pytest.mark.parametrize("by_code", [True, False])
def test_that_sets_are_known_by_code_and_by_name(study, desk, tmp_path, by_code):
    code = code_of(study, "Birch")
    name = code if by_code else " birch "
    path = write_table(tmp_path / "driven.csv", [("Z1", name, COARSE.upper(), "Boom", 6.5)])
    assert desk.bring_scores(path) == 1
    row = desk.score_table().iloc[0]
    assert (row["evaluator"], row["set"], row["condition"]) == ("Z1", code, COARSE)
    assert (row["attribute"], row["score"], row["origin"]) == ("boom", 6.5, "driven")


def test_that_brought_scores_stand_beside_given_ones(study, desk, tmp_path):
    _, given = rate_all(study)
    path = write_table(tmp_path / "more.csv", [("E2", "Maple", COARSE, "boom", 7)])
    desk.bring_scores(path)
    table = desk.score_table()
    assert len(table) == len(given) + 1
    assert table["score"].dtype == float
    assert table["pair"].isna().sum() == 1


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (("Z1", "Willow", COARSE, "boom", 7), "row 3, column set: Willow"),
        (("Z1", "Maple", "gravel", "boom", 7), "row 3, column condition: gravel"),
        (("Z1", "Maple", COARSE, "squeal", 7), "row 3, column attribute: squeal"),
        (("Z1", "Maple", COARSE, "boom", 11), "row 3, column score"),
        (("Z1", "Maple", COARSE, "boom", "x"), "row 3, column score"),
    ],
)
def test_that_a_word_the_study_does_not_know_is_told_and_nothing_is_added(
    desk, tmp_path, row, words
):
    path = write_table(tmp_path / "a.csv", [("Z1", "Birch", COARSE, "boom", 7), row])
    with pytest.raises(ScoreTableError, match=words):
        desk.bring_scores(path)
    assert len(desk.score_table()) == 0


def test_that_a_refusal_names_codes_and_never_the_sets(desk, tmp_path):
    path = write_table(tmp_path / "a.csv", [("Z1", "Willow", COARSE, "boom", 7)])
    with pytest.raises(ScoreTableError) as refusal:
        desk.bring_scores(path)
    told = str(refusal.value).lower()
    assert all(code in told for code in desk.codes())
    assert not [name for name in SETS if name.lower() in told]


def test_that_the_condition_may_be_left_out_only_when_there_is_but_one(tmp_path, desk):
    header = ("evaluator", "set", "attribute", "score")
    path = write_table(tmp_path / "short.csv", [("Z1", "Maple", "boom", 7)], header)
    with pytest.raises(ScoreTableError, match="column condition: nothing is not in the study"):
        desk.bring_scores(path)
    other = small_study(tmp_path / "other", sets=2, conditions=1)
    try:
        assert LeadDesk(other).bring_scores(path) == 1
    finally:
        other.close()


def test_that_the_same_cell_is_not_taken_twice(study, desk, tmp_path):
    row = ("Z1", "Maple", COARSE, "boom", 7)
    with pytest.raises(ScoreTableError, match="rows 2 and 3"):
        desk.bring_scores(write_table(tmp_path / "twice.csv", [row, row]))
    by_code = ("Z1", code_of(study, "Maple"), COARSE, "boom", 7)
    with pytest.raises(ScoreTableError, match=r"row 3.*a row above"):
        desk.bring_scores(write_table(tmp_path / "names.csv", [row, by_code]))
    assert len(desk.score_table()) == 0


def test_that_the_same_file_is_not_taken_twice(desk, tmp_path):
    path = write_table(tmp_path / "a.csv", [("Z1", "Maple", COARSE, "boom", 7)])
    desk.bring_scores(path)
    with pytest.raises(ScoreTableError, match="has been brought in before"):
        desk.bring_scores(path)
    other = write_table(tmp_path / "b.csv", [("Z1", "Maple", COARSE, "boom", 8)])
    with pytest.raises(ScoreTableError, match="this score already"):
        desk.bring_scores(other)
    assert len(desk.score_table()) == 1


def test_that_an_empty_cell_is_passed_over_and_a_table_of_them_is_refused(desk, tmp_path):
    rows = [("Z1", "Maple", COARSE, "boom", 7), ("Z1", "Birch", COARSE, "boom", "")]
    assert desk.bring_scores(write_table(tmp_path / "a.csv", rows)) == 1
    with pytest.raises(ScoreTableError, match="holds no score"):
        desk.bring_scores(write_table(tmp_path / "b.csv", [("Z1", "Larch", COARSE, "boom", "")]))


def test_that_a_table_written_by_one_study_is_read_by_its_sibling(tmp_path):
    first = small_study(tmp_path / "one", sets=3, conditions=2)
    second = small_study(tmp_path / "two", sets=3, conditions=2)
    try:
        rate_all(first, 0)
        rate_all(first, 1)
        table = LeadDesk(first).score_table()
        write_score_table(table, tmp_path / "scores.csv")
        assert LeadDesk(second).bring_scores(tmp_path / "scores.csv") == len(table)
        key = ["evaluator", "set", "condition", "attribute", "repeat"]
        mine = table.set_index(key)["score"].sort_index()
        theirs = LeadDesk(second).score_table().set_index(key)["score"].sort_index()
        assert mine.equals(theirs)
    finally:
        first.close()
        second.close()


def test_that_a_new_seat_passes_over_the_codes_that_brought_tables_took(study, desk, tmp_path):
    desk.bring_scores(write_table(tmp_path / "a.csv", [("E3", "Maple", COARSE, "boom", 7)]))
    session_id = desk.seat("Cleo")
    seat = next(s for s in session_seats(study) if s.session_id == session_id)
    assert (seat.evaluator.code, seat.evaluator.name) == ("E4", "Cleo")
    rate_pair(ListeningDesk(study, session_id, Clock()), ListeningDesk(study, session_id).pairs[0])
    assert set(desk.score_table()["evaluator"]) == {"E3", "E4"}


def test_that_a_refusal_counts_blank_rows_as_the_spreadsheet_does(desk, tmp_path):
    path = write_table(tmp_path / "a.csv", [("Z1", "Maple", COARSE, "boom", 7)])
    lines = path.read_text(encoding="utf-8").splitlines()
    unknown = lines[1].replace("Maple", "Willow")
    path.write_text("\n".join([*lines, "", "", unknown]), encoding="utf-8")
    with pytest.raises(ScoreTableError, match="row 5, column set: Willow is not in the study"):
        desk.bring_scores(path)


def test_that_a_name_of_the_table_that_is_also_a_seats_is_told(desk, tmp_path):
    header = ("evaluator", "set", "condition", "attribute", "score", "origin")
    told = [(who, "Maple", COARSE, "boom", 7, "driven") for who in ("ADA ", "E2", "Kim", "Bo Berg")]
    found = desk.preview_scores(write_table(tmp_path / "a.csv", told, header))
    assert found.evaluators == 4
    assert found.namesakes == (("ADA", "E1"),)
