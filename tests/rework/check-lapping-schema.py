# The table of lapping rates against its schema, and that the schema can refuse.
# Copyright (C) 2026 The Endfloat developers
# SPDX-License-Identifier: GPL-3.0-or-later
import copy
import json
import os
import sys

import jsonschema

data = sys.argv[1]
with open(os.path.join(data, "schemas", "lapping.schema.json"), encoding="utf-8") as file:
    schema = json.load(file)
with open(os.path.join(data, "rules", "lapping.json"), encoding="utf-8") as file:
    table = json.load(file)
jsonschema.Draft202012Validator.check_schema(schema)
validator = jsonschema.Draft202012Validator(schema)


def changed(change):
    result = copy.deepcopy(table)
    change(result)
    return result


cases = [
    ("the table fits", table, True),
    ("rates above 0", changed(lambda t: t["materials"][0]["removal_um"].__setitem__(0, 0)), False),
    ("a grit needs its paper", changed(lambda t: t["grits"][0].pop("paper")), False),
    ("no unknown member", changed(lambda t: t.__setitem__("colour", "grey")), False),
    ("an uncertainty is needed", changed(lambda t: t.pop("relative_uncertainty")), False),
]
failed = False
for number, (name, value, fits) in enumerate(cases, 1):
    ok = validator.is_valid(value) == fits
    failed = failed or not ok
    print("ok" if ok else "not ok", number, name)
print(f"1..{len(cases)}")
sys.exit(1 if failed else 0)
