#!/usr/bin/env python3
# Canonical numbers against Python's own shortest digits (David Gay's algorithm), laid out by the rules of ECMAScript.
# Copyright (C) 2026 The Endfloat developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""test-json-canonical.py WRITE-CANONICAL"""

import math
import random
import struct
import subprocess
import sys

COUNT = 100_000


def expected(value):
    if value == 0:
        return "0"
    mantissa, _, exponent = f"{abs(value)!r}".partition("e")
    whole, _, part = mantissa.partition(".")
    digits = (whole + part).lstrip("0")
    point = len(whole) + int(exponent or 0) if whole.strip("0") else int(exponent or 0) - (len(part) - len(part.lstrip("0")))
    digits = digits.rstrip("0")
    k, n = len(digits), point
    if k <= n <= 21:
        text = digits + "0" * (n - k)
    elif 0 < n <= 21:
        text = digits[:n] + "." + digits[n:]
    elif -6 < n <= 0:
        text = "0." + "0" * -n + digits
    else:
        text = digits[0] + ("." + digits[1:] if k > 1 else "") + f"e{'+' if n > 0 else '-'}{abs(n - 1)}"
    return ("-" if value < 0 else "") + text


def bits_of(value):
    return struct.unpack(">Q", struct.pack(">d", value))[0]


def main():
    rand = random.Random(8785)
    bits = [rand.getrandbits(64) for _ in range(COUNT)]
    bits += [bits_of(math.ldexp(1, e)) for e in range(-1074, 1024)]  # where doubles change their spacing
    bits += [bits_of(float(f"1e{e}")) + d for e in range(-320, 309) for d in (-1, 0, 1)]
    bits += [bits_of(round(rand.uniform(-100, 100), rand.randrange(7))) for _ in range(20_000)]
    bits += list(range(1, 2000))  # subnormal
    values = [struct.unpack(">d", struct.pack(">Q", b))[0] for b in bits]
    pairs = [(b, v) for b, v in zip(bits, values) if math.isfinite(v)]
    text = "".join(f"{b:016x}\n" for b, _ in pairs)
    written = subprocess.run([sys.argv[1]], input=text, capture_output=True, text=True, check=True).stdout.split("\n")[:-1]
    wrong = [(f"{b:016x}", expected(v), w) for (b, v), w in zip(pairs, written) if expected(v) != w]
    print("1..1")
    print("#", len(pairs), "numbers,", len(wrong), "differ", wrong[:5])
    print("ok" if len(written) == len(pairs) > COUNT and not wrong else "not ok", 1, "- numbers as ECMAScript writes them")


main()
