#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
# Shows the main job from nothing: gets the packages, builds, draws the photos of an invented copying
# office that tries its inks, reads them, and says where verdicts, report and pictures lie.
#
#     sh demo/run.sh
#
# May be run again at any time; works without a network once the packages are there.
set -eu

cd "$(dirname "$0")/.."
. demo/setup.sh

build=build
photos=$build/demo/photos
results=$build/demo/results
program=$build/src/cli/strandline
log=$build/demo/run.log

say() {
    printf '%s\n' "$*"
}

stop() {
    tail -n 30 "$log" >&2
    printf 'demo: %s failed; the whole log is %s\n' "$1" "$log" >&2
    exit 1
}

# quietly COMMAND...: its words go to the log; they are shown only if it fails.
quietly() {
    "$@" >>"$log" 2>&1 || stop "$*"
}

# block_of FILE WORD: from the line that begins with the word to the next empty one.
block_of() {
    sed -n "/^$2/,/^\$/{/./p;}" "$1"
}

# verdict_of FILE: from the verdict to the caution that stands below all verdicts.
verdict_of() {
    sed -n '/^Verdict/,/^This is an indicator/p' "$1" | sed '$d' | sed '$d'
}

# judge NAME INK PAPER TITLE: both strips lie in one photo, the one dipped at once on the left.
judge() {
    name=$1
    title=$4
    out=$results/$name
    mkdir -p "$out"
    set -- --quiet --ink "$2" --paper "$3" --solvent water --dip-s 12 --dried-min 10
    "$program" pair "$photos/$name.jpg" "$@" --html "$out/report.html" \
        --figures "$out" --figure-format png,svg,pdf \
        --csv-bands "$out/bands.csv" --csv-profiles "$out/profiles.csv" \
        >"$out/report.txt" 2>>"$log" || stop "reading $photos/$name.jpg"
    "$program" pair "$photos/$name.jpg" "$@" --json >"$out/reading.json" 2>>"$log" ||
        stop "reading $photos/$name.jpg"
    say
    say "$title -> $out/"
    verdict_of "$out/report.txt"
}

say 'Strandline demo (invented office, inks and papers; the photos are drawn, not taken).'
say '1. packages'
setup_packages "$packages_build"

say "2. build into $build/"
mkdir -p "$build/demo"
: >"$log"
[ -f "$build/build.ninja" ] || quietly meson setup "$build"
quietly ninja -C "$build"

say "3. draw the photos into $photos/"
rm -rf "$results"
mkdir -p "$photos" "$results"
quietly "$build/demo/strandline-render" -o "$photos" demo/scenes/*.txt

say '4. read them'
judge bench-pair 'Ullowen Slate' 'Pelldrum filter sheet' 'A ledger ink on the bench'
judge washable-pair 'Tarrowby Rush' 'Pelldrum filter sheet' 'An ink for blotted notes'
judge kitchen-pair 'Oskmere Plum' 'Ostwick crepe' 'A plum ink on the kitchen table'

row=$results/ink-row
mkdir -p "$row"
"$program" overlay "$photos/ink-row.jpg" --quiet \
    --ink 'Ullowen Slate' --ink 'Tarrowby Rush' --ink 'Venncaster Amber' --ink 'Quillsay Dusk' \
    --html "$row/report.html" --figures "$row" --figure-format png,svg,pdf \
    >"$row/report.txt" 2>>"$log" || stop "reading $photos/ink-row.jpg"
say
say "Four inks on one axis -> $row/"
block_of "$row/report.txt" Overlay
block_of "$row/report.txt" Likeness

cat <<END
Look at these first:
  $results/bench-pair/report.html     the report, with profiles to zoom into
  $results/bench-pair/*.png           its pictures (also .svg and .pdf)
  $results/ink-row/overlay.png        four inks on one axis
Every folder also has report.txt, and the pairs' have reading.json, bands.csv and profiles.csv.

With photos of your own, two strips in one photo, the one dipped at once on the left:
  $program pair PHOTO.jpg --ink 'NAME' --html report.html
or in two photos:
  $program pair IMMEDIATE.jpg DRIED.jpg --html report.html
END
