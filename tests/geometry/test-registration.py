#!/usr/bin/python3
"""compute photo-registration against SciPy's least squares: another implementation, another start, a general method.

Copyright (C) 2026 The Endfloat developers
SPDX-License-Identifier: GPL-3.0-or-later
"""
import json
import subprocess
import sys

import numpy as np
from scipy.optimize import least_squares

program = sys.argv[1]
random = np.random.default_rng(11)


def place(model, h, x, y):
    if model == 'similarity':
        return np.stack([h[0] * x + h[1] * y + h[2], h[1] * x - h[0] * y + h[3]])
    w = h[6] * x + h[7] * y + 1 if model == 'projective' else 1
    return np.stack([h[0] * x + h[1] * y + h[2], h[3] * x + h[4] * y + h[5]]) / w


def start(model):
    # In thousands of px, mm: an upright photo at 0.05 mm a px.
    return {'similarity': [50, 0, 0, 0], 'affine': [50, 0, 0, 0, -50, 0], 'projective': [50, 0, 0, 0, -50, 0, 0, 0]}[model]


def run(case):
    out = subprocess.run([program, 'compute', 'photo-registration'], input=json.dumps(case), text=True, capture_output=True)
    if out.returncode != 0:
        raise RuntimeError(out.stderr)
    return json.loads(out.stdout)


def compare(model, n):
    x, y = random.uniform(-1.8, 1.8, n), random.uniform(-1.2, 1.2, n)
    w = 1 + 0.05 * x - 0.03 * y
    u = (49 * x + 3 * y + 1) / w + random.normal(0, 0.3, n)
    v = (2 * x - 51 * y - 2) / w + random.normal(0, 0.3, n)
    case = {'model': model, 'pairs': [{'photo_px': [1000 * a, 1000 * b], 'face_mm': [c, d]} for a, b, c, d in zip(x, y, u, v)],
            'places_px': [[700, -300]]}
    got = run(case)
    fit = least_squares(lambda h: (place(model, h, x, y) - np.stack([u, v])).ravel(), start(model), xtol=1e-15, ftol=1e-15, gtol=1e-15)
    residuals = np.hypot(*(place(model, fit.x, x, y) - np.stack([u, v])))
    freedom = 2 * n - len(fit.x)
    sigma = np.sqrt(2 * fit.cost / freedom)
    jacobian = least_squares(lambda h: place(model, h, np.array([0.7]), np.array([-0.3])).ravel(), fit.x, max_nfev=1, jac='3-point').jac
    covariance = np.linalg.inv(fit.jac.T @ fit.jac)
    uncertainty = sigma * np.sqrt(1 + np.trace(jacobian @ covariance @ jacobian.T) / 2)
    np.testing.assert_allclose(got['residuals_mm'], residuals, rtol=2e-5, atol=1e-6)
    np.testing.assert_allclose(got['sigma_mm'], sigma, rtol=1e-7)
    np.testing.assert_allclose(got['places'][0]['face_mm'], place(model, fit.x, 0.7, -0.3), rtol=1e-5, atol=1e-5)
    np.testing.assert_allclose(got['places'][0]['u_mm'], uncertainty, rtol=1e-4)
    assert got['degrees_of_freedom'] == freedom


cases = [(model, n) for model, least in (('similarity', 3), ('affine', 4), ('projective', 5)) for n in (least, least + 2, 20)]
print(f'1..{len(cases)}')
for i, (model, n) in enumerate(cases, 1):
    try:
        compare(model, n)
        print(f'ok {i} - {model}, {n} pairs')
    except Exception as problem:
        print(f'not ok {i} - {model}, {n} pairs')
        print('# ' + str(problem).replace('\n', '\n# '))
