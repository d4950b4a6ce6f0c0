# Oil grades against their schema, and that the schema can refuse.
# Copyright (C) 2026 The Endfloat developers
# SPDX-License-Identifier: GPL-3.0-or-later
import copy
import json
import os
import sys

import jsonschema

data = sys.argv[1]
with open(os.path.join(data, "schemas", "oil-grades.schema.json"), encoding="utf-8") as file:
    schema = json.load(file)
with open(os.path.join(data, "oil", "grades.json"), encoding="utf-8") as file:
    grades = json.load(file)
jsonschema.Draft202012Validator.check_schema(schema)
validator = jsonschema.Draft202012Validator(schema)


def changed(**fields):
    result = copy.deepcopy(grades)
    for name, value in fields.items():
        if value is None:
            result["grades"][0].pop(name)
        else:
            result["grades"][0][name] = value
    return result


cases = [
    ("the grades fit", grades, True),
    ("a grade needs a source", changed(source=None), False),
    ("one viscosity, not two", changed(nu100_mm2_s=5), False),
    ("one viscosity, not none", changed(nu40_mm2_s=None), False),
    ("no unknown member", changed(colour="brown"), False),
    ("viscosity above 0", changed(nu40_mm2_s=0), False),
]
failed = False
for number, (name, value, fits) in enumerate(cases, 1):
    ok = validator.is_valid(value) == fits
    failed = failed or not ok
    print("ok" if ok else "not ok", number, name)
print(f"1..{len(cases)}")
sys.exit(1 if failed else 0)
