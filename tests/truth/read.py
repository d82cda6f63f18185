# SPDX-License-Identifier: GPL-3.0-or-later
"""Has the program read the photos of the bench, and compares what it says with what is true.

Photos go to the program a few at a time, as users give them. A program that falls over or does not end
costs that photo and no other: what it left without an answer is asked again, one by one.
"""
import concurrent.futures
import json
import pathlib
import subprocess
import time

import compare

WORKERS = 2
PHOTOS_A_CALL = 3
READ_LIMIT_S = 150  # a photo
PAIR_IN_ONE = ("pair", "pairs")


def by_hand(truth, given):
    """Options that tell the program where things are: nothing, the corners, or the marks as well."""
    strips = truth["strips"]
    if given == "nothing" or not strips:
        return []
    options = []
    for strip in strips:
        options += ["--corners", ",".join(f"{v:.2f}" for corner in strip["corners"] for v in corner)]
    if given == "marks":
        for name in ("origin", "front"):
            options += [f"--{name}", ",".join(f"{s[name + '_frac']:.5f}" for s in strips)]
    return options


def calls_for(groups, given):
    """[verb, photos]: what a user would know to show a pair goes through `pair`."""
    batches = {}
    for group in groups:
        if len(group) == 2 and given == "nothing":
            yield "pair", group
            continue
        for photo in group:
            verb = "pair" if photo.layout in PAIR_IN_ONE else "read"
            batch = batches.setdefault(verb, [])
            batch.append(photo)
            if len(batch) == (PHOTOS_A_CALL if given == "nothing" else 1):
                yield verb, batches.pop(verb)
    yield from batches.items()


def documents(texts):
    """What can be read of the program's output: a crash may have cut it short."""
    found = []
    for line in filter(None, texts):
        try:
            found.append(json.loads(line))
        except ValueError:
            pass
    return found


def run(command, paths):
    """Output and complaints; of a program that does not end, what it has said by then."""
    def text(output):
        return output.decode(errors="replace") if isinstance(output, bytes) else output or ""
    try:
        done = subprocess.run([*command, *paths], capture_output=True, text=True, errors="replace",
                              timeout=READ_LIMIT_S * len(paths))
        return done.stdout, done.stderr
    except subprocess.TimeoutExpired as late:
        return text(late.stdout), f"it did not end within {late.timeout} s"


def answers(program, verb, options, paths, one_document):
    """{path: (photo, its pairs)}; the pairs of two photos go with the first."""
    form = "--json" if one_document else "--json-lines"
    output, complaints = run([program, verb, form, *options, "--quiet"], paths)
    read = {}
    for document in documents([output] if one_document else output.splitlines()):
        for k, photo in enumerate(document["photos"]):
            read[photo["file"]] = (photo, document["pairs"] if k == 0 else [])
    if len(paths) > 1 and not one_document:
        for path in paths:
            if path not in read:
                read |= answers(program, verb, options, [path], False)
    else:
        for path in paths:
            read.setdefault(path, (compare.no_document(complaints), []))
    return read


def records_of_call(program, verb, photos, given):
    truths = [json.loads(pathlib.Path(p.truth_path).read_text()) for p in photos]
    apart = verb == "pair" and photos[0].layout not in PAIR_IN_ONE
    options = by_hand(truths[0], given)
    start = time.monotonic()
    read = answers(program, verb, options, [p.path for p in photos], apart)
    seconds = (time.monotonic() - start) / len(photos)
    records = []
    for k, (photo, truth) in enumerate(zip(photos, truths)):
        seen, pairs = read[photo.path]
        record = compare.compare_photo(seen, truth)
        if not truth["negative"]:
            alone = [compare.separate_pair(truths)] if apart and k == 0 else []
            record["pairs"] = compare.compare_pairs(pairs, compare.true_pairs(truth) or alone)
        records.append(record | {"seconds": seconds, "path": photo.path, "job": photo.job._asdict()})
    return records


def records(program, groups, given="nothing"):
    """Yields the records of each call as soon as it has ended."""
    with concurrent.futures.ThreadPoolExecutor(WORKERS) as pool:
        calls = [pool.submit(records_of_call, program, verb, photos, given)
                 for verb, photos in calls_for(groups, given)]
        for call in concurrent.futures.as_completed(calls):
            yield call.result()
