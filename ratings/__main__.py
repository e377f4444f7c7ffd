"""The command line: the same computations as the windows, without them."""

import argparse
import os
import re
import sys
from collections.abc import Sequence
from typing import NoReturn

from ratings.commands import agree, clip, compare, measure, plan, prefer, report, verdict
from ratings.errors import RatingsError
from ratings.study.written_numbers import with_plain_negative

#: One line a command; each module has HELP, add_arguments(parser) and run(arguments) -> text.
COMMANDS = {
    "agree": agree,
    "compare": compare,
    "prefer": prefer,
    "plan": plan,
    "clip": clip,
    "measure": measure,
    "verdict": verdict,
    "report": report,
}


#: All of Unicode's controls but the end of a line and the tab.
_CONTROLS = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f]")
#: What a shell expects of a program that was stopped by Ctrl+C.
_INTERRUPTED = 130


class _Parser(argparse.ArgumentParser):
    """Tells a wrong call in one line."""

    def error(self, message: str) -> NoReturn:
        self.exit(2, f"{self.prog}: {message}; see {self.prog} --help.\n")


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command.

    Returns
    -------
    int
        0; 2 after one sentence on standard error that says what is wrong with the input; 130
        after Ctrl+C.
    """
    parser = _Parser(
        prog="twinset",
        description="Tyre noise: measured, heard, judged. The windows' computations in a shell.",
    )
    subparsers = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for name, command in COMMANDS.items():
        subparser = subparsers.add_parser(name, help=command.HELP, description=command.HELP)
        command.add_arguments(subparser)
    try:
        words = sys.argv[1:] if argv is None else argv
        arguments = parser.parse_args([with_plain_negative(word) for word in words])
    except SystemExit as leaving:
        return leaving.code if isinstance(leaving.code, int) else 0
    try:
        text = COMMANDS[arguments.command].run(arguments)
    except RatingsError as error:
        sys.stderr.write(f"{error.what_happened}\n")
        return 2
    except KeyboardInterrupt:
        return _INTERRUPTED
    return _write(text)


def _write(text: str) -> int:
    # A name of a set must not steer the terminal.
    text = _CONTROLS.sub("", text)
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except BrokenPipeError:
        # The reader has seen enough; without this the interpreter complains once more on exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return 0


if __name__ == "__main__":
    sys.exit(main())
