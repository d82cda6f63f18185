#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# truth.sh N [option ...]: the truth bench, N photos of each difficulty and style from seed 5000 on.
# Options are those of tests/truth/bench.py: --first SEED, --long-side PX, --given corners|marks, --only ...,
# --nothing-retained N, --markdown, --pictures DIR, --resume after a run that was cut off.
# Renders lie in build/truth/ and are used again. BUILD names another build folder.
set -eu
[ $# -ge 1 ] || { sed -n 's/^# //p' "$0" | sed 1d >&2; exit 64; }
count=$1
shift
cd "$(dirname "$0")/.."
build=${BUILD:-build}
[ -d "$build" ] || meson setup "$build"
ninja -C "$build" src/cli/strandline demo/strandline-render >/dev/null
exec python3 tests/truth/bench.py --program "$build/src/cli/strandline" \
    --renderer "$build/demo/strandline-render" --folder "$build/truth" --count "$count" "$@"
