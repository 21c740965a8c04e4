# Read by demo/run and tests/run, from the top of the checkout: makes .venv and brings what the system lacks.
# Needs Python 3.11 or newer and nothing else; does nothing that is already done.

say() { printf '%s\n' "$*" >&2; }

# Run a command with the rights of the system's keeper, or fail where that would need a password.
as_root() {
    if [ "$(id -u)" = 0 ]; then "$@"; elif command -v sudo >/dev/null && sudo -n true 2>/dev/null; then sudo -n "$@"; else return 1; fi
}

may_install() { as_root true; }

find_python() {
    for python in "${PYTHON:-python3}" python3.14 python3.13 python3.12 python3.11 python3 python py; do
        if "$python" -c 'import sys; sys.exit(sys.version_info < (3, 11))' >/dev/null 2>&1; then return 0; fi
    done
    say "Monikerf needs Python 3.11 or newer, and found none."
    say "Install it from your system's packages or from python.org, or name it: PYTHON=/path/to/python3 $0"
    exit 2
}

# What an installation depends on, in short: the project's own description, the Python, the place.
fingerprint() {
    "$bin/python" -c '
import hashlib, pathlib, sys
said = pathlib.Path("pyproject.toml").read_bytes() + sys.version.encode() + str(pathlib.Path.cwd()).encode()
print(hashlib.sha256(said).hexdigest())'
}

make_venv() {
    find_python
    say "Making .venv with $("$python" --version)"
    if "$python" -m venv --clear .venv; then return 0; fi
    # Debian and Ubuntu keep this part of Python in a package of its own
    if command -v apt-get >/dev/null && system_install python3-venv && "$python" -m venv --clear .venv; then return 0; fi
    say "Python could not make .venv. On Debian and Ubuntu this helps: sudo apt-get install python3-venv"
    exit 2
}

# prepare_python EXTRAS: EXTRAS is "" or "[dev]". Sets bin; installs again only when the fingerprint has changed.
prepare_python() {
    bin=.venv/bin
    [ ! -d .venv/Scripts ] || bin=.venv/Scripts
    if now=$(fingerprint 2>/dev/null); then
        for extras in "$1" "[dev]"; do
            if [ "$(cat ".venv/monikerf$extras" 2>/dev/null)" = "$now" ]; then return 0; fi
        done
    else
        make_venv
        [ ! -d .venv/Scripts ] || bin=.venv/Scripts
    fi
    say "Installing Monikerf into .venv (the first time this takes a minute or two)"
    if ! "$bin/python" -m pip install -qq --disable-pip-version-check -e ".$1"; then
        say "pip could not install Monikerf. What it says above tells why; often the network is away."
        exit 2
    fi
    fingerprint >".venv/monikerf$1"
}

# apt_get WORD...: quietly; where another holds its lock, wait for up to five minutes.
apt_get() { as_root env DEBIAN_FRONTEND=noninteractive apt-get -o DPkg::Lock::Timeout=300 -qq "$@" >/dev/null; }

# system_install PACKAGE...: quietly, with the package manager there is; fails where it may not.
system_install() {
    if command -v brew >/dev/null; then brew install --quiet "$@" >&2; return; fi
    may_install || return 1
    if command -v apt-get >/dev/null; then
        apt_get install -y --no-install-recommends "$@" 2>/dev/null && return
        apt_get update 2>/dev/null || :
        apt_get install -y --no-install-recommends "$@"
    elif command -v dnf >/dev/null; then as_root dnf install -y -q "$@" >&2
    elif command -v pacman >/dev/null; then as_root pacman -S --noconfirm --needed --quiet "$@" >&2
    elif command -v zypper >/dev/null; then as_root zypper --non-interactive --quiet install "$@" >&2
    elif command -v apk >/dev/null; then as_root apk add --quiet "$@" >&2
    else return 1
    fi
}

has_cairo() { "$bin/python" -c 'import cairocffi' >/dev/null 2>&1; }

# prepare_cairo: proofs are drawn by the system's libcairo; without it they are drawn by resvg, which also works.
prepare_cairo() {
    if [ "$(uname -s)" = Darwin ]; then
        DYLD_FALLBACK_LIBRARY_PATH="${DYLD_FALLBACK_LIBRARY_PATH:-/opt/homebrew/lib:/usr/local/lib:/usr/lib}"
        export DYLD_FALLBACK_LIBRARY_PATH
    fi
    if has_cairo; then return 0; fi
    line=
    for rule in brew:cairo apt-get:libcairo2 dnf:cairo pacman:cairo zypper:libcairo2 apk:cairo; do
        if command -v "${rule%%:*}" >/dev/null; then
            say "Installing the system's ${rule##*:}, which draws the proofs"
            if system_install "${rule##*:}" && has_cairo; then return 0; fi
            case ${rule%%:*} in
                brew) line="brew install cairo" ;;
                pacman) line="sudo pacman -S cairo" ;;
                apk) line="sudo apk add cairo" ;;
                *) line="sudo ${rule%%:*} install ${rule##*:}" ;;
            esac
            break
        fi
    done
    say "libcairo is missing, so proofs will be drawn by resvg instead. To have it:"
    say "    ${line:-install the package of your system that holds libcairo (cairo.dll, libcairo.so.2, libcairo.2.dylib)}"
}
