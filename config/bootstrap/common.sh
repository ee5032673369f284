# shellcheck shell=sh
# Shared by the scripts beside it; read with `.`, not run.

say() { printf '%s\n' "== $*"; }

fail() {
    { echo; printf '%s\n' "$@"; } >&2
    exit 1
}

# as_root COMMAND...: run a command as root, or return 1 where that would ask for a password.
as_root() {
    if [ "$(id -u)" -eq 0 ]; then
        "$@"
    elif command -v sudo >/dev/null && sudo -n true 2>/dev/null; then
        sudo "$@"
    else
        return 1
    fi
}

# need WHY PACKAGE...: install the Debian packages that are missing, or say what to run and stop.
need() {
    why=$1
    shift
    if ! command -v dpkg-query >/dev/null; then
        say "Not a Debian system: install what is called $* there ($why), if it is missing."
        return 0
    fi
    missing=
    for package in "$@"; do
        status=$(dpkg-query -W -f='${db:Status-Status}' "$package" 2>/dev/null) || status=
        [ "$status" = installed ] || missing="$missing $package"
    done
    [ -n "$missing" ] || return 0
    # Split on purpose: a list of package names.
    # shellcheck disable=SC2086
    set -- $missing
    as_root true || fail "Missing for $why:$missing" "Run this once, then the same command again:" "" \
        "    sudo apt-get update && sudo apt-get install -y$missing" ""
    say "Installing for $why:$missing"
    # A fresh machine has no package lists, an old one has lists of files that are gone.
    install "$@" >/dev/null 2>&1 && return 0
    as_root apt-get -q update || fail "apt-get update failed; its message is above."
    install "$@" || fail "apt-get could not install:$missing. Its message is above."
}

install() {
    as_root env DEBIAN_FRONTEND=noninteractive apt-get -q -y -o DPkg::Lock::Timeout=600 \
        --no-install-recommends install "$@"
}
