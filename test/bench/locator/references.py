"""Methods E, F and G by their numpy references, for the locator benchmark.

python3 references.py FOLDER CASES.json > answers.json
FOLDER holds ratio/, learned/ and several/. Each case: degree, knots, rows (points, row by row).
"""

import importlib.util
import json
import os
import sys
import time

os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import numpy as np

folder = sys.argv[1]
sys.dont_write_bytecode = True


def module(name):
    spec = importlib.util.spec_from_file_location(name, os.path.join(folder, name, "best.py"))
    found = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(found)
    return found


ratio, learned, several = module("ratio"), module("learned"), module("several")


def point(found, sure):
    return {
        "spot": {"row": int(found["j"]), "column": int(found["i"])},
        "displacement": [float(x) for x in found["vec"]],
        "strength": float(found["confidence"]),
        "named": bool(sure),
    }


def by_e(net, *knots):
    return [point(o, o["status"] == "found") for o in ratio.locate(net, *knots)], []


def by_f(net, *knots):
    """locate_many as well: the first of one pass, the set by correcting one after the other."""
    first = learned.locate(net, *knots)[:3]
    ranked = [point(o, False) for o in first]
    if first and first[0]["status"] == "displaced":
        ranked = [point(o, True) for o in learned.locate_many(net, *knots, maxk=5)] or ranked
    return ranked, []


def by_g(net, *knots):
    found = several.locate_all(net, *knots)
    points = [point(o, o["certainty"] == "named") for o in found if o["i"] is not None and o["j"] is not None]
    lines = [
        {"along": "column", "index": int(o["i"])} if o["j"] is None else {"along": "row", "index": int(o["j"])}
        for o in found
        if (o["i"] is None or o["j"] is None) and o["certainty"] == "named"
    ]
    return sorted(points, key=lambda o: -o["strength"]), lines


def answer(method, case):
    net = np.array(case["rows"], float).transpose(1, 0, 2)
    start = time.perf_counter()
    try:
        points, lines = method(net, case["knots"][0], case["degree"][0], case["knots"][1], case["degree"][1])
        failed = not all(np.isfinite(p["strength"]) and np.isfinite(p["displacement"]).all() for p in points)
    except (np.linalg.LinAlgError, ValueError, IndexError, FloatingPointError):
        points, lines, failed = [], [], True
    spent = 1000 * (time.perf_counter() - start)
    return {"points": [] if failed else points, "lines": lines, "failed": failed, "milliseconds": spent}


with np.errstate(all="ignore"):
    answers = [
        {name: answer(method, case) for name, method in (("E", by_e), ("F", by_f), ("G", by_g))}
        for case in json.load(open(sys.argv[2]))
    ]
json.dump(answers, sys.stdout)
