"""The command that writes the report, and leaves the study as it is."""

import hashlib

from lead_recordings import study_with_runs

from ratings.__main__ import main
from ratings.storage.lead_desk import LeadDesk


def hashes(folder):
    return {
        path: hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def test_that_the_files_are_written_and_named_and_the_study_is_left_alone(tmp_path, capsys):
    study = study_with_runs(tmp_path, is_measured=True)
    title = LeadDesk(study).conditions()[0].title
    path = tmp_path / "scores.csv"
    rows = [
        f'P{who},{code},"{title}",boom,{6 + place + who / 10:.1f}'
        for who in range(4)
        for place, code in enumerate(LeadDesk(study).codes())
    ]
    path.write_text("evaluator,set,condition,attribute,score\n" + "\n".join(rows) + "\n")
    LeadDesk(study).bring_scores(path)
    study.close()
    before = hashes(study.folder.path)
    out = tmp_path / "out"
    assert main(["report", str(study.folder.path), "-o", str(out)]) == 0
    told = capsys.readouterr()
    assert told.err == ""
    assert sorted(told.out.splitlines()) == sorted(map(str, out.iterdir()))
    assert hashes(study.folder.path) == before
