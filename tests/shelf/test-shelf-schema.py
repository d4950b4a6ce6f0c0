#!/usr/bin/env python3
# The shelf file's JSON Schema: the demo shelf and what the program writes fit it, what doesn't belong doesn't.
# Copyright (C) 2026 The Endfloat developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""test-shelf-schema.py PROGRAM DATA-FOLDER"""

import json
import pathlib
import subprocess
import sys
import tempfile

import jsonschema


def validator(folder):
    documents = [json.loads((folder / f"{name}.schema.json").read_text()) for name in ("shelf", "inspection", "pump-sheet")]
    for document in documents:
        jsonschema.Draft202012Validator.check_schema(document)
    resolver = jsonschema.RefResolver.from_schema(documents[0], store={d["$id"]: d for d in documents})
    return jsonschema.Draft202012Validator(documents[0], resolver=resolver)


def main():
    program, data = sys.argv[1], pathlib.Path(sys.argv[2])
    schema = validator(data / "schemas")
    demo = json.loads((data / "shelf" / "demo.json").read_text())
    failures = []

    def check(name, good):
        failures.extend([] if good else [name])
        print(f"{'ok' if good else 'not ok'} {check.n} {name}")
        check.n += 1

    check.n = 1
    print("1..5")
    check("the demo shelf fits", schema.is_valid(demo))
    with tempfile.TemporaryDirectory() as scratch:
        store = pathlib.Path(scratch) / "jobs.sqlite"
        subprocess.run([program, "shelf", "import", "--store", store, data / "shelf" / "demo.json"], check=True, stdout=subprocess.DEVNULL)
        listed = subprocess.run([program, "shelf", "list", "--store", store], check=True, capture_output=True, text=True).stdout
        again = subprocess.run([program, "shelf", "import", "--store", store, data / "shelf" / "demo.json"], check=True, capture_output=True, text=True).stdout
    written = json.loads(listed)
    check("what the program lists fits", schema.is_valid(written))
    check("all of it is listed", len(written["parts"]) == len(demo["parts"]))
    check("the same isn't put twice", json.loads(again)["put"] == [])
    bad = []
    for member, value in (("kind", "wheel"), ("state", "lost"), ("sizes", [{"quantity": "hue", "value_mm": 1}]), ("sizes", [{"quantity": "face-width", "value_mm": -1}]), ("zz", 1)):
        changed = json.loads(json.dumps(demo))
        changed["parts"][0][member] = value
        bad.append(not schema.is_valid(changed))
    check("what doesn't belong is refused", all(bad))
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
