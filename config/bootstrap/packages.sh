#!/bin/sh
# packages.sh demo|test: install the Debian packages that are missing for the command.
# Run from the checkout's root.
set -eu
. config/bootstrap/common.sh

# Pango and HarfBuzz lay out the records; the fonts hold the scripts that names come in: Noto
# most, Droid Chinese and Japanese, Nanum Korean.
demo="libpango-1.0-0 libpangoft2-1.0-0 libharfbuzz-subset0 fonts-dejavu-core fonts-noto-core
    fonts-droid-fallback fonts-nanum"
# A browser to drive, what its driver is linked with, node to run the tests of the scoring page's
# modules, programs that look into the PDFs, and a device for keys that is made of software.
test="$demo chromium libatomic1 nodejs poppler-utils qpdf softhsm2"

# Debian keeps the part of Python that brings pip into .venv in a package of its own.
if ! [ -x .venv/bin/pip ] && ! "${PYTHON3:-python3}" -c 'import ensurepip, venv' 2>/dev/null; then
    demo="python3-venv $demo"
    test="python3-venv $test"
fi

# The lists are split on purpose.
# shellcheck disable=SC2086
case ${1-} in
    demo) need "the records" $demo ;;
    test) need "the tests" $test ;;
    *) fail "packages.sh: write demo or test." ;;
esac
