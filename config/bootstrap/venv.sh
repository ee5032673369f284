#!/bin/sh
# venv.sh REQUIREMENTS: make .venv where it is missing, and bring it to what the file pins.
# Run from the checkout's root. A second run with nothing changed does nothing.
set -eu
. config/bootstrap/common.sh

requirements=$1
python=${PYTHON3:-python3}
stamp=.venv/.installed-$(printf %s "$requirements" | tr / -)

command -v "$python" >/dev/null ||
    fail "There is no $python. Install Python 3.11 or newer, or name one: make PYTHON3=/path/to/python3"
"$python" -c 'import sys; sys.exit(sys.version_info < (3, 11))' ||
    fail "Bankermark needs Python 3.11 or newer; $python is $("$python" --version 2>&1)." \
        "Name another one with: make PYTHON3=/path/to/python3.11"

# A venv that was moved, or whose Python is gone, is no use.
if [ -d .venv ] && ! .venv/bin/python -c 'import sys' 2>/dev/null; then
    say "The Python of .venv does not run; making .venv anew"
    rm -rf .venv
fi

if ! [ -x .venv/bin/pip ]; then
    say "Making .venv"
    "$python" -m venv --clear .venv || fail "python3 -m venv failed; its message is above."
fi

# What is pinned, by which Python: both count.
wanted=$(cat requirements.txt "$requirements" .venv/pyvenv.cfg | cksum)
[ "$(cat "$stamp" 2>/dev/null)" != "$wanted" ] || exit 0

say "Installing the Python packages of $requirements"
.venv/bin/pip install --disable-pip-version-check --progress-bar off --no-deps -r "$requirements" ||
    fail "pip could not install what $requirements pins; its message is above." \
        "Without a network, name a folder of wheels: PIP_FIND_LINKS=/path make ..."
.venv/bin/pip check || fail "The packages pinned in $requirements do not fit together."
printf '%s\n' "$wanted" >"$stamp"
