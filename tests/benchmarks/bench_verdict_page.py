"""How long the verdict page takes for 20 evaluators x 12 sets x 8 attributes x 3 repeats.

Prints the time to judge (off the window's thread), to build the page and show it (on it, which the
0.3 s are asked of), and to go one row down. ``python tests/benchmarks/bench_verdict_page.py`` needs
a display or Xvfb.
"""

import time
from types import SimpleNamespace

import numpy as np
import pandas as pd
from PySide6.QtWidgets import QApplication

from app.lead.verdict.page import VerdictPage
from app.lead.verdict.presenter import VerdictPresenter
from app.lead.verdict.settling import Settling
from app.lead.verdict_reading import VerdictReading
from app.parts.theme import apply_theme
from ratings.findings.verdict.judging import judge
from ratings.findings.verdict.question import Question
from ratings.study.attributes import Attribute, Scale
from ratings.study.study_settings import StudySettings

EVALUATORS, SETS, ATTRIBUTES, REPEATS = 20, 12, 8, 3
CONDITIONS = ("coarse asphalt, 80 km/h", "smooth asphalt, 80 km/h")


def question() -> Question:
    """Return a study of that size; every third set is better on every second attribute."""
    rng = np.random.default_rng(11)
    codes = [str(101 + number) for number in range(SETS + 1)]
    attributes = tuple(Attribute(f"attribute_{n}", f"Attribute {n}", "") for n in range(ATTRIBUTES))
    own = rng.normal(0, 0.5, EVALUATORS)
    rows = [
        (
            f"E{person + 1}",
            code,
            title,
            attribute.key,
            repeat + 1,
            6 + own[person] + (place % 3 == 1) * (number % 2) + rng.normal(0, 0.4),
        )
        for person in range(EVALUATORS)
        for place, code in enumerate(codes)
        for title in CONDITIONS
        for number, attribute in enumerate(attributes)
        for repeat in range(REPEATS)
    ]
    columns = ["evaluator", "set", "condition", "attribute", "repeat", "score"]
    return Question(
        scores=pd.DataFrame(rows, columns=columns),
        control=codes[0],
        codes=tuple(codes),
        attributes=attributes,
        conditions=CONDITIONS,
        scale=Scale(),
        settings=StudySettings(),
    )


def shown_page(study: SimpleNamespace, reading: VerdictReading) -> VerdictPage:
    """Build the page, show it and draw it."""
    presenter = VerdictPresenter(study, reading)
    page = VerdictPage(presenter, Settling(study, reading), lambda _parent, _purpose: None)
    page.resize(1280, 720)
    page.show()
    QApplication.processEvents()
    page.grab()
    return page


def main() -> None:
    """Measure and print."""
    app = QApplication([])
    apply_theme(app, "light")
    began = time.perf_counter()
    verdict = judge(question())
    print(f"judged in {time.perf_counter() - began:.2f} s (off the window's thread)")
    #: Nothing is read from it: the verdict is there.
    study = SimpleNamespace(is_read_only=True)
    reading = VerdictReading(study)
    reading.verdict = verdict
    reading.begin_looking = lambda _looker: None
    for words in ("first page of a program", "again, as in a window that is open"):
        began, began_cpu = time.perf_counter(), time.process_time()
        page = shown_page(study, reading)
        took_s, cpu_s = time.perf_counter() - began, time.process_time() - began_cpu
        rows = len(page.rows.table.rows)
        print(f"{words}: {rows} rows built and drawn in {took_s:.3f} s ({cpu_s:.3f} s of CPU)")
    began = time.perf_counter()
    page.rows.table._step(1)
    page.grab()
    print(f"one row down in {time.perf_counter() - began:.3f} s")


if __name__ == "__main__":
    main()
