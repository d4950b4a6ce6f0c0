"""What is written as CSV, read again by Python's csv module (an RFC 4180 reader of its own)."""
import csv
import io
import subprocess
import sys

rows = [
    ["number", "note"],
    ["J-1", "plain"],
    ["", ""],
    ["a,b", 'he said "torn"'],
    ["line\r\nbreak", "\n"],
    [" spaces ", "Ä, ö; ü"],
    ['"', '""'],
    ["-0.5", "+3"],
    ["'=apostrophe first", ";"],
]
formulas = [["=1+1", "-x"], ["@a", "\tb"]]


def write(table):
    cells = b"".join(cell.encode() + (b"\x1e" if i + 1 == len(row) else b"\x1f") for row in table for i, cell in enumerate(row))
    return subprocess.run([sys.argv[1]], input=cells, stdout=subprocess.PIPE, check=True).stdout


print("1..3")
raw = write(rows)
back = list(csv.reader(io.StringIO(raw.decode(), newline=""), strict=True))
print("ok 1 the same cells" if back == rows else f"not ok 1 the same cells: {back!r}")
back = list(csv.reader(io.StringIO(write(formulas).decode(), newline=""), strict=True))
expected = [["'" + cell for cell in row] for row in formulas]
print("ok 2 no formulas" if back == expected else f"not ok 2 no formulas: {back!r}")
lines = write([["a", "b"], ["c", "d"]])
print("ok 3 lines end with CR LF" if lines == b"a,b\r\nc,d\r\n" else f"not ok 3 lines end with CR LF: {lines!r}")
