#!/usr/bin/env python3
# The exchange file's JSON Schema: every file the program writes fits it, and what doesn't belong doesn't.
# Copyright (C) 2026 The Endfloat developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""test-exchange-schema.py WRITE-EXCHANGE SCHEMA-FOLDER"""

import copy
import json
import pathlib
import subprocess
import sys
import tempfile

import jsonschema

COUNT = 60


def validator(folder):
    inspection = json.loads((folder / "inspection.schema.json").read_text())
    sheet = json.loads((folder / "pump-sheet.schema.json").read_text())
    jsonschema.Draft202012Validator.check_schema(inspection)
    jsonschema.Draft202012Validator.check_schema(sheet)
    resolver = jsonschema.RefResolver.from_schema(inspection, store={sheet["$id"]: sheet, inspection["$id"]: inspection})
    return jsonschema.Draft202012Validator(inspection, resolver=resolver)


def paths(value, path=()):
    """Every place in a document, the pump sheet left out: its own schema has its own test."""
    yield path
    if isinstance(value, dict):
        for name, member in value.items():
            if path or name != "pump_sheet":
                yield from paths(member, path + (name,))
    elif isinstance(value, list):
        for i, element in enumerate(value[:3]):
            yield from paths(element, path + (i,))


def put(document, path, change):
    changed = copy.deepcopy(document)
    at = changed
    for step in path:
        at = at[step]
    change(at)
    return changed


def main():
    program, folder = sys.argv[1], pathlib.Path(sys.argv[2])
    schema = validator(folder)
    failures = []
    kinds_seen = {}

    with tempfile.TemporaryDirectory() as scratch:
        subprocess.run([program, scratch, str(COUNT)], check=True)
        sealed = json.loads((pathlib.Path(scratch) / "sealed.json").read_text())
        files = sorted(file for file in pathlib.Path(scratch).glob("*.json") if file.name != "sealed.json")
        documents = [json.loads(file.read_text()) for file in files]

    print(f"1..{5}")
    for number, document in enumerate(documents):
        for error in schema.iter_errors(document):
            failures.append(f"{number}: {list(error.absolute_path)}: {error.message[:200]}")
        for name in ("gauges", "marks", "readings", "checks", "overrides", "ticks", "work", "demands", "costs"):
            kinds_seen[name] = kinds_seen.get(name, 0) + len(document[name])
    for failure in failures[:10]:
        print("#", failure)
    print("ok" if len(documents) == COUNT and not failures else "not ok", 1, "- written files fit the schema")
    print("ok" if all(kinds_seen.values()) else "not ok", 2, "- all kinds of item were there", kinds_seen)

    # An unknown member anywhere is refused.
    rich = max(documents, key=lambda document: len(json.dumps({k: v for k, v in document.items() if k != "pump_sheet"})))
    missed, tried = [], 0
    for path in list(paths(rich)):
        at = rich
        for step in path:
            at = at[step]
        if isinstance(at, dict):
            tried += 1
            if schema.is_valid(put(rich, path, lambda value: value.update(unknown_member=1))):
                missed.append(path)
    print("#", tried, "objects tried; missed", missed)
    print("ok" if tried > 15 and not missed else "not ok", 3, "- unknown members don't fit")

    # A value of another type anywhere is refused.
    missed, tried = [], 0
    for path in list(paths(rich)):
        if not path:
            continue

        def spoil(parent, name=path[-1]):
            parent[name] = [["spoilt"]] if not isinstance(parent[name], list) else {"spoilt": 1}

        tried += 1
        if schema.is_valid(put(rich, path[:-1], spoil)):
            missed.append(path)
    print("#", tried, "values tried; missed", missed)
    print("ok" if tried > 50 and not missed else "not ok", 4, "- other types don't fit")

    # The seal of an exported job fits, and nothing else in its place.
    wrong = [error.message[:200] for error in schema.iter_errors(sealed)]
    for path in (("seal",), ("seal", "statement"), ("seal", "statement", "parts"), ("seal", "form"), ("seal", "form", "rules"), ("seal", "keys", 0)):
        if schema.is_valid(put(sealed, path, lambda value: value.update(unknown_member=1))):
            wrong.append(f"unknown member of {path}")
        at = sealed
        for step in path:
            at = at[step]
        for name in list(at):
            if name not in ("endorsement", "certificates") and schema.is_valid(put(sealed, path, lambda value: value.pop(name))):
                wrong.append(f"{path} without {name}")
    print("#", wrong)
    print("ok" if not wrong else "not ok", 5, "- a seal fits")

main()
