#!/usr/bin/env python3
"""The register made the straightforward way, with openpyxl, for comparison.

Reads every workbook below a folder and writes the columns of the register as
CSV to standard output. It takes the sealed record for what was entered, the
sheets for what stands there now, and compares the two cell by cell, as the
program does, though only by value (one load per file, cached values).

    baseline.py FOLDER [N]     the first N files only

The last line on standard error is the number of files and the seconds taken.
"""
import base64, csv, gzip, hashlib, json, math, os, re, sys, time

import openpyxl

PROOFS = [
    ("owner reference", [["owner_ref"]]),
    ("date of the visit", [["visit_date"]]),
    ("date when the unit was installed", [["unit_installed"]]),
    ("serial number of the outdoor unit", [["old_unit_serial"]]),
    ("serial number of the failed compressor", [["old_compressor_serial"]]),
    ("serial number of the new compressor", [["new_compressor_serial"]]),
    ("kind of failure", [["failure_kind"]]),
    ("cause of the failure", [["root_cause"]]),
    ("proof of charge (weighed in and written on the label)", [["weighed_in", "label_charge"]]),
    ("proof of charge (running readings)", [["suction_pressure", "suction_temp", "liquid_pressure", "liquid_temp"]]),
    ("vacuum held", [["vacuum_final", "vacuum_end"]]),
    ("electrical check: supply and running current", [["supply_voltage", "run_current"]]),
    ("electrical check: run capacitor", [["cap_meter"], ["cap_current", "cap_volts"]]),
    ("electrical check: windings to case", [["insulation"]]),
]
CELL = re.compile(r"([A-Z]+[0-9]+)([snfg])(.*)", re.S)


def number(x):
    return isinstance(x, (int, float)) and not isinstance(x, bool)


def row(path, name):
    wb = openpyxl.load_workbook(path, data_only=True)
    seal = wb["Seal"]
    props = {seal.cell(r, 1).value: seal.cell(r, 2).value for r in range(2, 8)}
    text, r = "", 8
    while seal.cell(r, 2).value:
        text += seal.cell(r, 2).value
        r += 1
    raw = gzip.decompress(base64.b64decode(text))
    pl = json.loads(raw)
    if hashlib.sha256(pl["record"].encode()).hexdigest() != props["Retrostage record SHA-256"]:
        raise ValueError("the record does not fit its digest")
    if hashlib.sha256(raw).hexdigest() != props["Retrostage cells SHA-256"]:
        raise ValueError("the list of cells does not fit its digest")
    job = {}
    record = json.loads(pl["record"])
    for e in record["entries"]:
        job[e["key"]] = e["value"]
    changes = []
    for s in pl["sheets"]:
        ws = wb[s["name"]]
        for c in s["cells"]:
            at, kind, want = CELL.match(c).groups()
            got = ws[at].value
            if kind in "nf":
                w = float(want)
                tol = 1e-12 * abs(w) if kind == "n" else 1e-5 * max(1, abs(w))
                same = number(got) and math.fabs(got - w) <= tol
            else:
                same = (got or "") == want
            if not same:
                changes.append("%s!%s: %r became %r" % (s["name"], at, want, got))
    sign = {}
    for n, at in pl["sign"].items():
        sheet, cell = at.split("!")
        sign[n] = wb[sheet][cell].value
    missing = [w for w, any_ in PROOFS if not any(all(job.get(k) for k in ks) for ks in any_)]
    if not any(sign.values()):
        missing.append("supervisor's signature")
    state = "altered" if changes else "signed, untouched" if sign["sign_name"] else "as exported"
    n = pl["counts"]
    g = job.get
    return [name, state, "; ".join(missing), "; ".join(changes[:20]), record["id"], g("owner_ref"), g("visit_date"), g("technician_ref"),
            g("refrigerant"), g("failure_kind"), g("old_unit_serial"), g("old_compressor_serial"), g("new_compressor_serial"),
            n.get("within", 0), n.get("outside", 0), n.get("too close to call", 0), sign["sign_name"], sign["sign_date"], sign["sign_decision"]]


def main():
    top, limit = sys.argv[1], int(sys.argv[2]) if len(sys.argv) > 2 else None
    names = sorted(os.path.relpath(os.path.join(d, f), top) for d, _, fs in os.walk(top) for f in fs if f.endswith(".xlsx"))[:limit]
    out = csv.writer(sys.stdout)
    start = time.perf_counter()
    for n in names:
        try:
            out.writerow(row(os.path.join(top, n), n))
        except Exception as e:  # one bad file does not stop the table
            out.writerow([n, "damaged", str(e)])
    print(len(names), time.perf_counter() - start, file=sys.stderr)


main()
