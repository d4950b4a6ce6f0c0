#!/usr/bin/env python3
# Lesson, sheet and attempt as the program writes them fit their schemas; what lacks a member or has one too many is refused by schema and program alike.
# Copyright (C) 2026 The Endfloat developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""test-lesson-schema.py PROGRAM DATA-FOLDER"""

import copy
import json
import pathlib
import subprocess
import sys
import tempfile

import jsonschema


def validators(folder):
    loaded = {name: json.loads((folder / f"{name}.schema.json").read_text()) for name in ("pump-sheet", "inspection", "lesson", "attempt")}
    store = {schema["$id"]: schema for schema in loaded.values()}
    made = {}
    for name in ("lesson", "attempt"):
        jsonschema.Draft202012Validator.check_schema(loaded[name])
        made[name] = jsonschema.Draft202012Validator(loaded[name], resolver=jsonschema.RefResolver.from_schema(loaded[name], store=store))
    return made


def main():
    program, data = sys.argv[1], pathlib.Path(sys.argv[2])
    schema = validators(data / "schemas")
    results = []

    def run(*arguments):
        return subprocess.run([program, "lesson", *map(str, arguments)], capture_output=True, text=True)

    def check(name, holds, detail=""):
        results.append((name, holds, detail))

    with tempfile.TemporaryDirectory() as scratch:
        scratch = pathlib.Path(scratch)
        lesson, sheet, attempt = (scratch / f"{name}.json" for name in ("lesson", "sheet", "attempt"))
        for arguments in (("make", data / "demo" / "job-3-tg-3.json", "--seed", 3, "--measure", "face-width", "-o", lesson),
                          ("sheet", lesson, "-o", sheet), ("start", sheet, "--apprentice", "apprentice 1", "-o", attempt)):
            done = run(*arguments)
            check(f"{arguments[0]} runs", done.returncode == 0, done.stderr)
        worn = scratch / "worn.json"
        done = subprocess.run([program, "specimen", "--sheet", "hl-24", "--seed", "7", "--cause", "load", "-o", str(scratch / "job.json"), "--lesson", str(worn)],
                              capture_output=True, text=True)
        check("a specimen's lesson is made", done.returncode == 0, done.stderr)
        document = json.loads(worn.read_text())
        problem = next(schema["lesson"].iter_errors(document), None)
        check("a specimen's lesson with its crescents fits", problem is None and len(document["crescents"]) > 0, str(problem))
        for member in list(document["crescents"][0]) + ["surprise"]:
            changed = copy.deepcopy(document)
            if member == "surprise":
                changed["crescents"][0][member] = 1
            else:
                del changed["crescents"][0][member]
            bad = scratch / "bad.json"
            bad.write_text(json.dumps(changed))
            done = run("sheet", bad, "-o", scratch / "out")
            check(f"crescents: {member}", not schema["lesson"].is_valid(changed) and done.returncode == 1 and "bad.json" in done.stderr, done.stderr)
        # What each is read by, to see it refused: a second file where two are asked for.
        files = {"lesson": (lesson, "lesson", lambda path: run("sheet", path, "-o", scratch / "out")),
                 "sheet": (sheet, "lesson", lambda path: run("start", path, "-o", scratch / "out")),
                 "attempt": (attempt, "attempt", lambda path: run("score", lesson, path, "-o", scratch / "out"))}
        shipped = json.loads((data / "lessons" / "torn-filter.json").read_text())
        check("the shipped lesson fits", schema["lesson"].is_valid(shipped))
        for name, (path, kind, read) in files.items():
            document = json.loads(path.read_text())
            problem = next(schema[kind].iter_errors(document), None)
            check(f"{name} fits", problem is None, str(problem))
            optional = {"task", "handed_in"}
            for member in [member for member in document if member not in optional] + ["surprise"]:
                changed = copy.deepcopy(document)
                if member == "surprise":
                    changed[member] = 1
                else:
                    del changed[member]
                bad = scratch / "bad.json"
                bad.write_text(json.dumps(changed))
                done = read(bad)
                check(f"{name}: {member}", not schema[kind].is_valid(changed) and done.returncode == 1 and "bad.json" in done.stderr,
                      f"{schema[kind].is_valid(changed)} {done.returncode} {done.stderr}")

    print("TAP version 13")
    print(f"1..{len(results)}")
    for number, (name, holds, detail) in enumerate(results, 1):
        print(f"{'ok' if holds else 'not ok'} {number} - {name}")
        if not holds:
            print("# " + detail.replace("\n", "\n# "))
    return 0 if all(holds for _, holds, _ in results) else 1


sys.exit(main())
