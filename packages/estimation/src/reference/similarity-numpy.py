"""Congruency test, S-transformation and iterative weighted similarity transformation by numpy's pseudo-inverse, on arbitrary numbers.

python3 similarity-numpy.py writes similarity-numpy.json. Formulas: Pelzer (1971), Baarda (1973), Chen (1983); translations of one axis, and
of three axes for the iteration.
"""

import json

import numpy as np

rng = np.random.default_rng(6)
cases = []
for n in (2, 3, 5, 6):
    variances = rng.uniform(0.5, 3.0, n)
    S = np.eye(n) - np.ones((n, n)) / n
    Q = S @ np.diag(variances) @ S.T
    d = S @ rng.normal(0, 2, n)
    weights = rng.uniform(0.1, 2.0, n)
    H = np.ones((n, 1))
    W = np.diag(weights)
    Sw = np.eye(n) - H @ np.linalg.inv(H.T @ W @ H) @ H.T @ W
    cases.append(
        {
            "difference": d.tolist(),
            "covariance": Q.ravel().tolist(),
            "quadratic": float(d @ np.linalg.pinv(Q, rcond=1e-10) @ d),
            "rank": int(np.linalg.matrix_rank(Q)),
            "weights": weights.tolist(),
            "datum": Sw.ravel().tolist(),
            "transformed": (Sw @ Q @ Sw.T).ravel().tolist(),
        }
    )

points = rng.normal(0, 0.5, (6, 3))
points[1] += [7, -4, 2]
points[4] += [0, 9, 1]
guard = 0.01
x = points.copy()
for _ in range(5000):
    w = 1 / (np.linalg.norm(x, axis=1) + guard)
    x = x - (w[:, None] * x).sum(axis=0) / w.sum()
json.dump(
    {"numpy": np.__version__, "cases": cases, "points": points.tolist(), "guard": guard, "iterated": x.tolist()},
    open("similarity-numpy.json", "w"),
)
