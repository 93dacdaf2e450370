#!/bin/sh
# Sets Ringloft up in .venv beside the checkout:
#   sh resources/setup.sh        what the program needs
#   sh resources/setup.sh dev    also what its tests need
# Run it again at any time; with nothing to do it neither downloads nor changes anything.
set -eu

# Measured in a bare Debian 12, amd64; apt's share holds 16 MB of package lists.
APT_MB=80
APT_DEV_MB=85
PIP_MB=120
PIP_DEV_MB=265

kind=${1:-run}
case $kind in
run | dev) ;;
*)
    echo "usage: sh resources/setup.sh [dev]" >&2
    exit 2
    ;;
esac

root=$(CDPATH='' cd -- "$(dirname -- "$0")/.." && pwd)
venv=$root/.venv

say() { printf 'setup: %s\n' "$*"; }
fail() {
    printf 'setup: %s\n' "$*" >&2
    exit 1
}

# --- system libraries -------------------------------------------------------------------------

libraries="libglib2.0-0 libgl1 libegl1 libdbus-1-3 libfontconfig1 libxkbcommon0
    libxcb-cursor0 libxcb-icccm4 libxcb-keysyms1 libxcb-shape0 libxkbcommon-x11-0"
apt_mb=$APT_MB
if [ "$kind" = dev ]; then
    libraries="$libraries xvfb xauth"
    apt_mb=$APT_DEV_MB
fi

installed() {
    # Newer Debian releases rename some libraries with a t64 ending.
    for name in "$1" "$1t64"; do
        status=$(dpkg-query -W -f '${db:Status-Status}' "$name" 2>/dev/null) || continue
        [ "$status" = installed ] && return 0
    done
    return 1
}

missing=
if command -v dpkg-query >/dev/null 2>&1; then
    for library in $libraries; do
        installed "$library" || missing="$missing $library"
    done
    command -v python3 >/dev/null 2>&1 || missing="$missing python3"
    python3 -c 'import ensurepip, venv' >/dev/null 2>&1 || missing="$missing python3-venv"
    missing=${missing# }
else
    say "this is not a Debian system; the window needs Qt's usual X11 libraries"
fi

if [ -n "$missing" ]; then
    install="apt-get install -y --no-install-recommends $missing"
    if [ "$(id -u)" = 0 ]; then
        as_root="env DEBIAN_FRONTEND=noninteractive"
    elif command -v sudo >/dev/null 2>&1 && sudo -n true 2>/dev/null; then
        as_root="sudo -n env DEBIAN_FRONTEND=noninteractive"
    elif command -v sudo >/dev/null 2>&1 && [ -t 0 ]; then
        say "sudo may ask for your password, to run: $install"
        as_root="sudo env DEBIAN_FRONTEND=noninteractive"
    else
        say "system packages are missing and only an administrator may install them:" >&2
        fail "  apt-get update && $install"
    fi
    say "installing from Debian, about $apt_mb MB on a bare system: $missing"
    $as_root apt-get update -q || say "the package lists could not be renewed; trying as they are"
    # shellcheck disable=SC2086  # the list is meant to split
    $as_root $install || fail "apt could not install them; check the network, then run this again"
fi

# --- Python -----------------------------------------------------------------------------------

command -v python3 >/dev/null 2>&1 || fail "python3 is missing; install Python 3.11 or newer"
python3 -c 'import sys; sys.exit(sys.version_info < (3, 11))' ||
    fail "$(python3 --version) is too old; Ringloft needs Python 3.11 or newer"

# What the environment was made from; a change of any of these calls for pip again.
mark="$root $(cksum <"$root/pyproject.toml") $(cksum <"$root/core/version.py")"
mark="$mark $(python3 -c 'import sys; print(sys.version)' | tr '\n' ' ')"

made_for() { [ -f "$venv/.setup-$1" ] && [ "$(cat "$venv/.setup-$1")" = "$mark" ]; }

works() { "$venv/bin/python" -c 'import pip' >/dev/null 2>&1; }

if works && { made_for "$kind" || made_for dev; }; then
    say "nothing to do"
    exit 0
fi

if ! works || { [ -f "$venv/.setup-root" ] && [ "$(cat "$venv/.setup-root")" != "$root" ]; }; then
    say "making $venv"
    python3 -m venv --clear "$venv" || fail "the environment could not be made in $venv"
fi
printf '%s\n' "$root" >"$venv/.setup-root"
rm -f "$venv/.setup-run" "$venv/.setup-dev"

if [ "$kind" = dev ]; then
    say "installing Python packages, about $PIP_DEV_MB MB if none is there yet"
    target="${root}[dev]"
else
    say "installing Python packages, about $PIP_MB MB if none is there yet"
    target=$root
fi
quiet=--quiet
[ -t 1 ] && quiet=--progress-bar=on
"$venv/bin/python" -m pip install $quiet --disable-pip-version-check -e "$target" ||
    fail "pip could not install them; check the network, then run this again"
printf '%s\n' "$mark" >"$venv/.setup-$kind"
say "ready: .venv/bin/ringloft"
