"""What the README shows is what there is: its commands, its notebook, its set-up."""

import itertools
import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import numpy as np
import pytest
import soundfile

from ratings.__main__ import COMMANDS, main

TOP = Path(__file__).resolve().parent.parent
README = (TOP / "README.md").read_text(encoding="utf-8")


def _command_rows() -> list[str]:
    """Rows of the table of commands, which ends where a line is no row."""
    _, after = README.split("| command | says |\n|---|---|\n")
    return after[: re.search(r"^(?!\|)", after, re.MULTILINE).start()].splitlines()


def _options(row: str) -> list[str]:
    return re.findall(r"--[a-z][a-z-]*", row.split(" | ", maxsplit=1)[0].replace("\\|", " "))


def test_that_every_command_stands_once_in_the_table():
    named = [re.match(r"\| `twinset (\w+) ", row)[1] for row in _command_rows()]
    assert sorted(named) == sorted(COMMANDS)
    assert all(len(re.split(r"(?<!\\)\|", row)) == 4 for row in _command_rows())


@pytest.mark.parametrize("row", _command_rows())
def test_that_a_command_has_the_options_that_the_table_shows(row, capsys):
    command = row.split()[2]
    assert main([command, "--help"]) == 0
    told = capsys.readouterr().out
    assert told.startswith(f"usage: twinset {command} ")
    assert [option for option in _options(row) if option not in told] == []


@pytest.mark.slow
def test_that_the_notebook_reads_the_sample_of_a_first_start(tmp_path):
    home = tmp_path / "home"
    home.mkdir()
    kept = {name: value for name, value in os.environ.items() if not name.startswith("XDG_")}
    surroundings = kept | {"HOME": str(home), "PYTHONPATH": str(TOP)}

    def run(code: str) -> str:
        done = subprocess.run(
            [sys.executable, "-c", code],
            cwd=tmp_path,
            env=surroundings,
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 0, done.stderr
        return done.stdout

    run("from app.opening import sample_copy; sample_copy()")
    example, _ = re.findall(r"```python\n(.*?)```", README, re.DOTALL)
    said = run(f"{example}\nprint(len(scores), sorted(scores.columns), len(figures))")
    count, columns = said.split(" ", 1)
    assert int(count) > 100
    assert {"evaluator", "set", "attribute", "score"} <= set(re.findall(r"\w+", columns))


def _locked(name: str) -> dict[str, str]:
    text = (TOP / name).read_text(encoding="utf-8")
    entries = re.findall(
        r"^([a-z0-9-]+)==(\S+)[^\n]*\\\n((?: +--hash=sha256:[0-9a-f]{64}.*\n)+)", text, re.MULTILINE
    )
    assert len(entries) == len(re.findall(r"^[a-z0-9]", text, re.MULTILINE))
    return {package: version for package, version, _ in entries}


def test_that_the_set_up_installs_only_files_with_known_hashes():
    program, tests = _locked("app/locked.txt"), _locked("tests/locked.txt")
    assert program.items() <= tests.items()
    project = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = project["dependencies"] + project["optional-dependencies"]["desktop"]
    assert {re.match(r"[a-z0-9-]+", each)[0] for each in wanted} <= set(program)
    assert "setuptools" in program


def test_that_the_locked_packages_lie_in_the_ranges_of_the_project():
    from packaging.requirements import Requirement

    project = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    tests = _locked("tests/locked.txt")
    extras = project["optional-dependencies"].values()
    for text in itertools.chain(project["dependencies"], *extras):
        wanted = Requirement(text)
        if wanted.name != "twinset":
            assert tests[wanted.name] in wanted.specifier, text


def test_that_a_missing_window_is_told_and_the_commands_stay(monkeypatch, capsys):
    import app.main

    monkeypatch.setattr(app.main.importlib.util, "find_spec", lambda _name: None)
    assert app.main.main([]) == 2
    assert "pip install" in capsys.readouterr().err
    assert app.main.main(["plan", "--sets", "4", "--evaluators", "6"]) == 0


def test_that_the_notebook_cuts_clips_alike(tmp_path):
    _, example = re.findall(r"```python\n(.*?)```", README, re.DOTALL)
    (tmp_path / "runs").mkdir()
    for seed in (1, 2):
        noise = 0.1 * np.random.default_rng(seed).standard_normal((20 * 8000, 2))
        soundfile.write(tmp_path / "runs" / f"run {seed}.wav", noise, 8000)
    surroundings = os.environ | {"PYTHONPATH": str(TOP)}
    subprocess.run([sys.executable, "-c", example], cwd=tmp_path, env=surroundings, check=True)
    clips = list((tmp_path / "clips").glob("*.wav"))
    assert len(clips) == 2
    assert (tmp_path / "clips-key.json").is_file()
