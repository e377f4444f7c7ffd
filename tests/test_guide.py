"""The guide for contributors names files that are there, and rooms as the contracts hold them."""

import re
import tomllib
from pathlib import Path

import pytest

TOP = Path(__file__).resolve().parents[1]
GUIDE = (TOP / "DEVELOPERS.md").read_text(encoding="utf-8")
NAMED = re.findall(r"`(?:sh |python )?([\w./]+(?:\.(?:py|sh|txt|toml)|/))\*?`", GUIDE)


@pytest.fixture(scope="module")
def files():
    """Return every file and folder of the project, by path from the top."""
    shown = [path for path in TOP.rglob("*") if not {".venv", ".git"} & set(path.parts)]
    return [f"/{path.relative_to(TOP)}{'/' if path.is_dir() else ''}" for path in shown]


@pytest.mark.parametrize("path", sorted(set(NAMED)))
def test_that_a_file_that_the_guide_names_is_there(files, path):
    assert any(each.endswith(f"/{path}") for each in files)


def test_that_both_ways_name_whole_paths_in_the_order_of_the_rooms():
    rooms = [room for layer in reversed(_layers("ratings")) for room in layer]
    for title in ("The way of one score", "The way of one figure"):
        way = GUIDE.split(f"## {title}")[1].split("\n## ")[0]
        paths = re.findall(r"`([\w/]+/[\w.]*)\*?`", way)
        assert len(paths) >= 8
        assert [path for path in paths if not (TOP / path).exists()] == []
        assert {path.split("/")[1] for path in paths if path.startswith("ratings/")} <= set(rooms)


@pytest.mark.parametrize("root", ["ratings", "app"])
def test_that_the_guide_gives_the_rooms_as_the_contracts_hold_them(root):
    begin = {"ratings": "errors", "app": "parts"}[root]
    (told,) = re.findall(rf"`({begin} [^`]*)`", GUIDE)
    told = [{room.strip() for room in layer.split("|")} for layer in told.split("<")]
    assert told == [set(layer) for layer in reversed(_layers(root))]


def _layers(root):
    contracts = tomllib.loads((TOP / "pyproject.toml").read_text())["tool"]["importlinter"]
    (found,) = [
        each["layers"] for each in contracts["contracts"] if each.get("containers") == [root]
    ]
    return [[room.strip(" ()") for room in layer.split("|")] for layer in found]
