"""What the commands take and print alike."""

import argparse
import json
import os
from pathlib import Path

import pytest

from ratings.commands.common_options import named_path, number, printed


@pytest.mark.parametrize("text", ["nan", "inf", "-Infinity", "1e999"])
def test_that_no_option_takes_what_is_no_number(text: str) -> None:
    with pytest.raises(argparse.ArgumentTypeError, match="is not a number"):
        number(text)
    assert number("-2.5") == -2.5


def test_that_an_empty_name_is_not_the_current_folder() -> None:
    with pytest.raises(argparse.ArgumentTypeError, match="the name is empty"):
        named_path("")
    assert named_path("runs") == Path("runs")


def test_that_a_name_that_is_no_text_is_printed_and_can_be_had_again() -> None:
    name = os.fsdecode(b"run\xff.wav") if os.name != "nt" else "run\udcff.wav"
    text = printed({"file": name, "folder": "über\nmorgen"})
    assert text.encode("utf-8")
    assert json.loads(text) == {"file": name, "folder": "über\nmorgen"}
