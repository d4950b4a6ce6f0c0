#!/usr/bin/python3
# Holds the pump sheets, their JSON Schema and the loader against each other: the shipped sheets pass both, each of the
# wrong ones below fails in both.
# Copyright (C) 2026 The Endfloat developers
# SPDX-License-Identifier: GPL-3.0-or-later
import copy
import json
import pathlib
import subprocess
import sys
import tempfile

import jsonschema

loader, data = sys.argv[1], pathlib.Path(sys.argv[2])
schema = json.loads((data / "schemas/pump-sheet.schema.json").read_text("utf-8"))
jsonschema.Draft202012Validator.check_schema(schema)
validator = jsonschema.Draft202012Validator(schema)
sheets = {p.stem: json.loads(p.read_text("utf-8")) for p in sorted((data / "pump-sheets").glob("*.json"))}
failed = 0
number = 0


def report(good, name, why=""):
    global failed, number
    number += 1
    failed += not good
    print(("ok" if good else "not ok"), number, "-", name, ("" if good else "# " + why))


def remove(path):
    def edit(doc):
        at = doc
        for step in path[:-1]:
            at = at[step]
        del at[path[-1]]
    return "without " + "/".join(map(str, path)), edit


def put(path, value):
    def edit(doc):
        at = doc
        for step in path[:-1]:
            at = at[step]
        at[path[-1]] = value
    return "/".join(map(str, path)) + " = " + json.dumps(value)[:40], edit


S, P, L, R = ["sections", 0], ["parts", 0], ["limits", 0], ["rated_points", 0]
# parts of HL-24: 0 pressure housing, 1 pressure drive gear, 3 separator, 7 drive shaft, 9 split pin
RULE = {"id": "own", "level": "mark", "check": "size", "applies": {"parts": ["gear"]}, "params": {"limit_mm": 1},
        "outcomes": {"ok": {"verdict": "use-again", "sentence": "s"}, "over": {"verdict": "scrap", "sentence": "s", "advice": "a", "action": "replace"}}, "source": "x"}


def rule(path, value):
    one = copy.deepcopy(RULE)
    put(path, value)[1](one)
    return put(["rules"], [one])[0] + " " + "/".join(path), put(["rules"], [one])[1]


WRONG = [
    put(["rules"], {}), put(["rules"], [7]), rule(["id"], ""), rule(["id"], "Own"), rule(["source"], ""), rule(["level"], "tooth"), rule(["check"], "guess"),
    rule(["wish"], 1), rule(["applies", "parts"], []), rule(["applies", "kinds"], ["roof"]),
    rule(["applies", "faces"], ["roof"]), rule(["params", "limit_mm"], -1), rule(["params", "limit_mm"], "1"), rule(["params", "limit"], 1),
    rule(["outcomes", "over", "verdict"], "bin it"), rule(["outcomes", "over", "sentence"], ""), rule(["outcomes", "over", "action"], "wish"),
    rule(["outcomes", "none"], {"verdict": "scrap", "sentence": "s"}), rule(["outcomes"], []),
    put(["format"], "pump"), put(["version"], 2), put(["version"], "1"), put(["id"], "HL 24"), put(["id"], ""), put(["model"], ""), put(["name"], 3),
    put(["colour"], "red"), put(["cautions"], "hot"), put(["cautions", 0], 1), put(["relief_bar"], -1), put(["relief_bar"], "4"),
    put(["oil", "nu40_mm2_s"], 1), put(["oil", "density15_kg_m3"], 1e9), put(["oil", "maker"], "x"), put(["oil"], []), put(["rated_points"], []),
    put(R + ["speed_rpm"], 0), put(R + ["temperature_c"], 900), put(R + ["flow_l_min"], -1), put(R + ["flow"], 1),
    put(["sections"], []), put(["sections"], {}), put(S + ["id"], "Pressure"), put(S + ["role"], "return"), put(S + ["rotation"], 0), put(S + ["rotation"], 2),
    put(S + ["teeth"], [12]), put(S + ["teeth"], [12, 12, 12]), put(S + ["teeth"], [12, 12.5]), put(S + ["teeth", 0], 4), put(S + ["module_mm"], 0),
    put(S + ["pressure_angle_deg"], 5), put(S + ["profile_shift", 1], 9), put(S + ["tip_diameter_mm"], "43.2"), put(S + ["pocket_depth_mm"], None),
    put(S + ["suction_angle_deg"], 10), put(S + ["floor_face"], "pressure-housing"), put(S + ["facing_face"], "a/b/c"), put(S + ["gear_parts"], []),
    put(S + ["ports"], []), put(S + ["ports", 0, "side"], "left"), put(S + ["ports", 0, "cut_in"], []), put(S + ["ports", 0, "cut_in"], ["floor", "floor"]),
    put(S + ["ports", 0, "outline_mm"], [[0, 7], [1, 8]]), put(S + ["ports", 0, "outline_mm", 0], [0, 7, 1]), put(S + ["module"], 3),
    put(["parts"], []), put(P + ["kind"], "body"), put(P + ["material"], "cheese"), put(P + ["order"], 1.5), put(P + ["order"], -1), put(P + ["thickness_mm"], 0),
    put(P + ["margin_mm"], 0), put(P + ["pocket_opens"], "sideways"), put(P + ["journals"], []), put(P + ["check"], "look"), put(P + ["lappable"], "yes"),
    put(P + ["lap_stock_um"], 0), put(P + ["lap_stock_um"], -5), put(P + ["lappable"], False), put(P + ["bores", 0, "axis"], "left"), put(P + ["bores", 0, "z_mm"], 1),
    put(P + ["holes", 0, "kind"], "screw"), put(P + ["holes", 0, "diameter_mm"], 0),
    put(["parts", 1, "margin_mm"], 3), put(["parts", 1, "gear"], "idler"), put(["parts", 3, "pocket_opens"], "rear"), put(["parts", 7, "lappable"], True),
    put(["parts", 7, "journals", 0, "runs_in"], "bore"), put(["parts", 7, "keyways", 0, "width_mm"], 0), put(["parts", 9, "check"], ""), put(["parts", 9, "bores"], []),
    put(L + ["quantity"], "endclearance"), put(L + ["wear_max_mm"], -0.1), put(L + ["wear_max_mm"], 21), put(L + ["source"], ""), put(L + ["unit"], "mm"),
    put(["limits", 0], {"quantity": "flatness", "target": "separator", "source": "x"}),
] + [remove([m]) for m in ("format", "version", "id", "model", "name", "cautions", "oil", "rated_points", "sections", "parts", "limits")] \
  + [remove(S + [m]) for m in schema["$defs"]["section"]["required"]] \
  + [remove(P + [m]) for m in ("id", "kind", "name", "material", "order", "thickness_mm", "section", "margin_mm", "pocket_opens", "lap_stock_um")] \
  + [remove(["parts", 1] + [m]) for m in ("section", "gear", "bores")] + [remove(["parts", 7] + [m]) for m in ("gear", "front_z_mm", "journals")] \
  + [remove(["parts", 9, "check"]), remove(L + ["source"]), remove(L + ["quantity"]), remove(R + ["speed_rpm"]), remove(["oil", "grade"])]

print("1..%d" % (len(sheets) * 2 + len(WRONG) + 1))
report(sorted(sheets) == ["hl-24", "hl-27", "rc-4", "tg-3"], "four sheets are shipped", str(sorted(sheets)))
for name, sheet in sheets.items():
    errors = [e.message for e in validator.iter_errors(sheet)]
    report(not errors, name + " satisfies the schema", "; ".join(errors)[:200])
with tempfile.TemporaryDirectory() as folder:
    files = [str(data / "pump-sheets" / (n + ".json")) for n in sheets]
    broken = []
    for i, (name, edit) in enumerate(WRONG):
        doc = copy.deepcopy(sheets["hl-24"])
        edit(doc)
        path = pathlib.Path(folder) / ("wrong-%03d.json" % i)
        path.write_text(json.dumps(doc), "utf-8")
        broken.append((name, doc, path))
    lines = subprocess.run([loader] + files + [str(b[2]) for b in broken], check=True, capture_output=True, text=True).stdout.splitlines()
for name, line in zip(sheets, lines):
    report(line == "ok", name + " loads", line)
for (name, doc, path), line in zip(broken, lines[len(sheets):]):
    by_schema = not validator.is_valid(doc)
    by_loader = line != "ok" and path.name in line and "$" in line
    report(by_schema and by_loader, "refused by both: " + name, "schema %s, loader: %s" % ("refuses" if by_schema else "accepts", line))
sys.exit(1 if failed else 0)
