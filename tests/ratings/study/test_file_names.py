from pathlib import Path

import pytest

from ratings.study.file_names import safe_name


@pytest.mark.parametrize(
    "words",
    [
        "../../victim",
        "..",
        "/etc/victim",
        "C:\\victim",
        "\\\\server\\share",
        "a\0b\nc",
        "con",
        "NUL.txt",
        "com1",
        "name. ",
        "\udcff\udcfe",
        "ä" * 300,
        "\U0001f697" * 300,
        "",
        " . . ",
    ],
)
def test_that_what_a_lead_writes_never_leads_out_of_its_folder(tmp_path, words):
    name = safe_name(words)
    place = tmp_path / name
    assert place.resolve().parent == tmp_path.resolve()
    place.write_text("kept")
    assert [path.name for path in tmp_path.iterdir()] == [name]
    # Windows takes neither a device's name nor an end of dots and blanks.
    assert Path(name).stem.lower() not in ("con", "nul", "com1")
    assert name == name.rstrip(" .")


def test_that_ordinary_names_stay_as_they_are():
    assert safe_name("Alder wagon, week 31") == "Alder wagon, week 31"
    assert safe_name("Contact") == "Contact"
