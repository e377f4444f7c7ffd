"""What the commands take and print alike."""

import argparse
import json
import os
from pathlib import Path

import pytest

from ratings.__main__ import COMMANDS, main
from ratings.commands.common_options import named_path, number, printed, whole_number


@pytest.mark.parametrize("text", ["nan", "inf", "-Infinity"])
def test_that_no_option_takes_what_is_no_number(text: str) -> None:
    with pytest.raises(argparse.ArgumentTypeError, match="is not a number"):
        number(text)
    with pytest.raises(argparse.ArgumentTypeError, match="is too large a number"):
        number("1e999")
    assert number("-2.5") == -2.5


def _numeric_options() -> list[tuple[str, str, int]]:
    """Every option of every command that takes a number, found by what reads it."""
    found = []
    for name, command in COMMANDS.items():
        parser = argparse.ArgumentParser()
        command.add_arguments(parser)
        for action in parser._actions:
            if action.type not in (None, Path, named_path):
                assert action.type in (number, whole_number), f"{name} {action.option_strings}"
                count = action.nargs if isinstance(action.nargs, int) else 1
                found.append((name, action.option_strings[-1], count))
    return found


def test_that_every_option_with_a_number_is_read_by_the_one_reader() -> None:
    assert len(_numeric_options()) >= 30


@pytest.mark.parametrize(("command", "option", "count"), _numeric_options())
def test_that_every_option_refuses_a_number_with_two_marks(
    command: str, option: str, count: int, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([command, option, *["1.234,5"] * count]) == 2
    said = capsys.readouterr().err
    assert "can be read in more than one way" in said
    assert option in said


@pytest.mark.parametrize("difference", ["0,5", "0.5", "5e-1"])
def test_that_a_decimal_comma_gives_the_same_plan(
    difference: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["plan", "--sets", "4", "--evaluators", "8", "--difference", difference]) == 0
    assert "a true difference of 0.5 of one set" in capsys.readouterr().out


@pytest.mark.parametrize("gain", ["-0,5", "-0.5", "-5e-1", "\u22120,5"])
def test_that_a_negative_number_with_a_comma_is_no_option(
    gain: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["clip", "none.wav", "-o", "clips", "--gain-db", gain]) == 2
    assert "none.wav" in capsys.readouterr().err


def test_that_an_empty_name_is_not_the_current_folder() -> None:
    with pytest.raises(argparse.ArgumentTypeError, match="the name is empty"):
        named_path("")
    assert named_path("runs") == Path("runs")


def test_that_a_name_that_is_no_text_is_printed_and_can_be_had_again() -> None:
    name = os.fsdecode(b"run\xff.wav") if os.name != "nt" else "run\udcff.wav"
    text = printed({"file": name, "folder": "über\nmorgen"})
    assert text.encode("utf-8")
    assert json.loads(text) == {"file": name, "folder": "über\nmorgen"}
