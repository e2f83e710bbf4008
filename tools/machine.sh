#!/usr/bin/env bash
# What a machine may lack: Python's venv, the libraries WeasyPrint draws with, a browser for the tests.
# Installed by the system's package manager where that is allowed, else named in one line to be run by hand.
set -euo pipefail

as_root() {
    if [ "$(id -u)" = 0 ]; then "$@"; elif command -v sudo >/dev/null && sudo -n true 2>/dev/null; then sudo -n "$@"; else return 1; fi
}

packages() {
    if command -v apt-get >/dev/null && as_root true; then
        echo "Installing with apt-get: $*"
        as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq "$@" >/dev/null 2>&1 ||
            { as_root apt-get update -qq >/dev/null && as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq "$@" >/dev/null; }
    else
        echo "This machine lacks packages. Run:  sudo apt-get install -y $*" >&2
        exit 1
    fi
}

case "${1:-}" in
venv)
    python=$2 folder=$3
    "$python" -c 'import sys; sys.exit(sys.version_info < (3, 11))' ||
        { echo "Bayproof needs Python 3.11 or newer; $python is $("$python" -V 2>&1). Try: make PY=python3.12 ..." >&2; exit 1; }
    [ -x "$folder/bin/python" ] && exit 0
    "$python" -m venv "$folder" >/dev/null 2>&1 && exit 0
    rm -rf "$folder"
    packages python3-venv
    "$python" -m venv "$folder"
    ;;
libraries)
    "$2" -c 'import weasyprint' >/dev/null 2>&1 && exit 0
    packages libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0 libharfbuzz0b
    "$2" -c 'import weasyprint'
    ;;
browser)
    if ! command -v pdftoppm >/dev/null; then
        if command -v apt-get >/dev/null && as_root true; then packages poppler-utils; fi
        command -v pdftoppm >/dev/null || echo "No pdftoppm here: tests of papers will fail. Install poppler-utils." >&2
    fi
    [ -n "${CHROMIUM:-}" ] && exit 0
    for name in chromium chromium-browser google-chrome; do command -v "$name" >/dev/null && exit 0; done
    if command -v apt-get >/dev/null && as_root true; then packages chromium; fi
    command -v chromium >/dev/null || echo "No Chromium here: the browser tests will fail. Install one, or say CHROMIUM=path." >&2
    ;;
postgres)
    packages postgresql
    ;;
postgres)
    packages postgresql
    ;;
fresh-demo)
    [ -e "$2" ] || exit 0
    [ -e "$2/this-is-a-demo" ] || { echo "$2 holds something that is no demo; move it away first." >&2; exit 1; }
    rm -rf "$2"
    ;;
*)
    echo "usage: machine.sh venv|libraries|browser|postgres|fresh-demo" >&2
    exit 2
    ;;
esac
