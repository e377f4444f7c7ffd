# Sets up what Twinset needs. Sourced by app/start and tests/run, from the project's top folder.
# Shell functions only; nothing happens until one is called.

# Import and windows of Qt, fonts, PortAudio. Found by ldd on a bare Debian 12, see DEVELOPERS.md.
window_packages="libglib2.0-0 libgl1 libegl1 libdbus-1-3 libfontconfig1 libxkbcommon0
    libxcb-cursor0 libxcb-icccm4 libxcb-image0 libxcb-keysyms1 libxcb-randr0 libxcb-render-util0
    libxcb-shape0 libxcb-xkb1 libxkbcommon-x11-0 fonts-dejavu-core libportaudio2"

say() { printf '%s\n' "$*" >&2; }

# system_packages NAME...: install the Debian packages that are missing, asking for rights only then.
system_packages() {
    [ "$(uname -s)" = Linux ] || return 0
    if ! command -v dpkg-query >/dev/null 2>&1; then
        say "This is not a Debian system: please see to these packages yourself: $*"
        return 0
    fi
    missing=""
    for package in "$@"; do
        state=$(dpkg-query -W -f='${db:Status-Status}' "$package" 2>/dev/null || true)
        [ "$state" = installed ] || missing="$missing $package"
    done
    [ -n "$missing" ] || return 0
    say "Installing system packages:$missing"
    if [ "$(id -u)" -eq 0 ]; then
        as_root=""
    elif command -v sudo >/dev/null 2>&1; then
        as_root="sudo"
        say "Your password may be asked for, for apt-get only."
    else
        say "These packages are missing and this account may not install them. Ask your administrator for:"
        say "    apt-get install --no-install-recommends$missing"
        return 1
    fi
    # shellcheck disable=SC2086  # the lists are meant to split
    $as_root apt-get -q update >&2 &&
        $as_root env DEBIAN_FRONTEND=noninteractive apt-get -q -y install --no-install-recommends $missing >&2
}

# python_for_environment: print a Python 3.11 or newer.
python_for_environment() {
    for candidate in python3 python3.11 python3.12 python3.13; do
        if command -v "$candidate" >/dev/null 2>&1 &&
            "$candidate" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
            printf '%s\n' "$candidate"
            return 0
        fi
    done
    say "Twinset needs Python 3.11 or newer. Install it (Debian: apt-get install python3) and start again."
    return 1
}

# environment EXTRA: make .venv hold the locked packages (EXTRA "" or "tests"); quick when it already does.
environment() {
    extra="$1"
    locked="${extra:-app}/locked.txt"
    python=$(python_for_environment) || return 1
    if ! "$python" -c 'import ensurepip' 2>/dev/null; then
        system_packages python3-venv || return 1
    fi
    wanted=$("$python" -c 'import hashlib, sys
read = b"".join(open(name, "rb").read() for name in sys.argv[1:])
print(hashlib.sha256(read + sys.version.encode()).hexdigest())' pyproject.toml app/locked.txt tests/locked.txt)
    stamp=".venv/.twinset${extra:+-$extra}"
    [ -f "$stamp" ] && [ "$(cat "$stamp")" = "$wanted" ] && return 0
    say "Setting up the project's own environment in .venv (once; a minute or two)."
    # An environment made by another Python, or half made, is rebuilt rather than mended.
    if [ ! -x .venv/bin/python ] || ! .venv/bin/python -c 'import pip' 2>/dev/null; then
        rm -rf .venv
        "$python" -m venv .venv || return 1
    fi
    # Files other than those that were chosen (app/lock.sh) are refused; the project itself is here.
    set -- .venv/bin/python -m pip --quiet --disable-pip-version-check
    "$@" install --require-hashes --requirement "$locked" &&
        "$@" install --no-index --no-deps --no-build-isolation --editable . || {
        say "The packages could not be installed. Nothing of yours was changed. Check the network and start again."
        return 1
    }
    printf '%s' "$wanted" >"$stamp"
    # The tests' packages include the program's own.
    if [ -n "$extra" ]; then printf '%s' "$wanted" >.venv/.twinset; fi
}
