# SPDX-License-Identifier: MIT
#
# Sets up a build directory and builds in it; says nothing unless it fails. To be sourced:
#   . lib/build.sh;  build_in DIRECTORY [TARGET] [-- MESON-OPTION...]

# Runs a command silently; shows what it said only if it fails.
quietly() {
    local log status=0
    log=$(mktemp)
    "$@" </dev/null >"$log" 2>&1 || status=$?
    [ "$status" = 0 ] || { echo "failed: $*" >&2; cat "$log" >&2; }
    rm -f "$log"
    return "$status"
}

# The directory is relative to the top of the tree, $top.
build_in() {
    local directory=$top/$1 targets=()
    shift
    while [ $# -gt 0 ] && [ "$1" != -- ]; do
        targets+=("$1")
        shift
    done
    [ $# -eq 0 ] || shift
    if [ ! -e "$directory/build.ninja" ]; then
        quietly meson setup "$@" "$directory" "$top" || return
    fi
    quietly ninja -C "$directory" "${targets[@]}"
}
