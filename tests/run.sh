#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Runs all tests: installs what is missing, builds with gcc (warnings are errors) and runs
# everything, then builds with clang and the address and undefined-behaviour sanitizers and runs
# what can be run so. The last line is "N passed, N failed", with ", N skipped" if any was (named
# above it); the exit code is 0 only if none failed.
set -eu
cd "$(dirname "$0")/.."

. demo/setup.sh
setup_packages "$packages_build $packages_tests"
# The machine's own node does where it is new enough; else Debian's.
new_node() {
    command -v npm >/dev/null && node -e 'process.exit(parseInt(process.versions.node, 10) < 18 ? 1 : 0)' 2>/dev/null
}
new_node || setup_packages "nodejs npm"
printf '== tests/page: packages of npm\n'
(cd tests/page && npm ci --no-progress --loglevel=error >/dev/null)

export LC_ALL=C.UTF-8
# All that tests need is there now: what is missing is a failure, not a test to skip.
export STRANDLINE_TESTS_COMPLETE=1
# A sanitizer's finding ends the program, and with it the test.
export ASAN_OPTIONS=halt_on_error=1:detect_leaks=1:abort_on_error=0:exitcode=98
export UBSAN_OPTIONS=halt_on_error=1:print_stacktrace=1:exitcode=98

# build_and_test FOLDER [MESON OPTION...]: failing tests are counted at the end, all of them.
# A folder that is there was set up by others, perhaps before the packages of the tests were there (meson leaves the
# tests out then): it is set up again.
build_and_test() {
    folder=$1
    shift
    printf '== %s: build\n' "$folder"
    [ ! -f "$folder/build.ninja" ] || set -- --reconfigure "$@"
    mkdir -p "$folder"
    { meson setup "$folder" --werror "$@" && ninja -C "$folder" -v; } >"$folder/build.log" 2>&1 || {
        tail -n 40 "$folder/build.log"
        printf '0 passed, 1 failed\n'
        exit 1
    }
    printf '== %s: test\n' "$folder"
    rm -f "$folder/meson-logs/testlog.json" # what an earlier run found must not be counted
    meson test -C "$folder" --no-rebuild --print-errorlogs --num-processes 2 </dev/null || true
}

build_and_test build
CC=clang build_and_test build-sanitize -Db_sanitize=address,undefined -Db_lundef=false
python3 tests/count.py build/meson-logs/testlog.json build-sanitize/meson-logs/testlog.json
