# Results of all demo jobs against data/schemas/results.schema.json, and that the schema can refuse.
# Copyright (C) 2026 The Endfloat developers
# SPDX-License-Identifier: GPL-3.0-or-later
import copy
import glob
import json
import os
import subprocess
import sys

import jsonschema

program, data = sys.argv[1], sys.argv[2]
with open(os.path.join(data, "schemas", "results.schema.json"), encoding="utf-8") as file:
    schema = json.load(file)
jsonschema.Draft202012Validator.check_schema(schema)
validator = jsonschema.Draft202012Validator(schema)
jobs = sorted(glob.glob(os.path.join(data, "demo", "*.json")))
output = subprocess.run([program, *jobs], check=True, stdout=subprocess.PIPE).stdout
texts = [part for part in output.split(b"\0") if part]

count = 0
failed = False


def report(ok, name, message=""):
    global count, failed
    count += 1
    failed = failed or not ok
    print(("ok" if ok else "not ok"), count, name)
    if message:
        print("#", message)


report(len(texts) == len(jobs) + 1 and len(jobs) >= 4, "a result for each demo job, and one with a demand")
results = [json.loads(text) for text in texts]
for job, result in zip(jobs + [jobs[0] + " with a demand"], results):
    errors = [f"{error.json_path}: {error.message}" for error in validator.iter_errors(result)]
    report(not errors, os.path.basename(job), "; ".join(errors[:3]))


def refused(name, change):
    broken = copy.deepcopy(results[0])
    change(broken)
    report(any(True for _ in validator.iter_errors(broken)), "refuses " + name)


refused("an unknown verdict", lambda r: r["verdict"].update(verdict="maybe"))
refused("a missing figure member", lambda r: r["figures"][0].pop("found"))
refused("a foreign member", lambda r: r.update(extra=1))
refused("a share above 1", lambda r: r["faces"][0].update(worn_share=1.5))
refused("a reason without a rule", lambda r: r["verdict"]["reasons"][0].pop("rule"))
report(all(result["right_pump"] is None for result in results[:-1]), "no comparison of pumps without a demand")
demanding = results[-1]["right_pump"]
report(demanding is not None and len(demanding["choices"]) >= 3 and demanding["pressure_share"] < 1, "with a demand the pumps are compared")
report(any(land["weighed_by"] == "leakage" for land in results[0]["plan"]["land"]), "land is weighed by leakage")
refused("land weighed by the moon", lambda r: r["plan"]["land"][0].update(weighed_by="moon"))
refused("an unknown phase", lambda r: r["steps"][0].update(phase="lunch"))
print(f"1..{count}")
sys.exit(1 if failed else 0)
