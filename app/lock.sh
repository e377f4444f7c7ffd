#!/bin/sh
# Chooses the packages that the set-up installs, anew, with the hashes of all their files: for
# Linux, Windows and macOS on Python 3.11 and later. Needs uv. Usage: sh app/lock.sh [--upgrade]
set -eu
cd "$(dirname "$0")/.."
# choose FILE EXTRA [uv options]: what EXTRA needs, and what builds the project itself.
choose() {
    file="$1" extra="$2"
    shift 2
    printf 'setuptools>=77\n' | uv pip compile --quiet --universal --python-version 3.11 \
        --fork-strategy fewest --generate-hashes --no-annotate --no-emit-index-url \
        --custom-compile-command 'sh app/lock.sh' --extra "$extra" "$@" \
        pyproject.toml - --output-file "$file"
}
choose app/locked.txt desktop "$@"
# The tests run on the very packages that the program runs on.
choose tests/locked.txt tests --constraints app/locked.txt "$@"
