"""Reference values for reml.test.ts by a dense restricted likelihood, with numpy and scipy 1.10.1 (Debian 12).

Run: python3 reml-scipy.py > reml-scipy.json
"""

import json

import numpy as np
import scipy
from scipy import optimize

rng = np.random.default_rng(7)
n = 60
h = np.ones(n)
for k in range(1, n):
    h[k] = h[k - 1] * (k - 1 + 0.5) / k
T = np.array([[h[i - j] if i >= j else 0 for j in range(n)] for i in range(n)])
slots = np.array([i for i in range(n) if i not in (7, 8, 9, 31)])
F = (T @ T.T)[np.ix_(slots, slots)]
X = np.c_[np.ones(len(slots)), np.cos(2 * np.pi * slots / 4), np.sin(2 * np.pi * slots / 4)]
y = np.round(rng.multivariate_normal(np.zeros(len(slots)), np.eye(len(slots)) + F), 4)


def restricted(theta):
    S = np.exp(theta[0]) * np.eye(len(y)) + np.exp(theta[1]) * F
    Si = np.linalg.inv(S)
    A = X.T @ Si @ X
    r = y - X @ np.linalg.solve(A, X.T @ Si @ y)
    return 0.5 * (np.linalg.slogdet(S)[1] + np.linalg.slogdet(A)[1] + r @ Si @ r)


start = [0.0, -1.0]
for _ in range(3):
    found = optimize.minimize(restricted, start, method="Nelder-Mead", options=dict(xatol=1e-13, fatol=1e-15, maxiter=20000))
    start = found.x
white, flicker = np.exp(found.x)

# Expected information of the two variances: 1/2 tr(P G P H).
S = white * np.eye(len(y)) + flicker * F
Si = np.linalg.inv(S)
P = Si - Si @ X @ np.linalg.solve(X.T @ Si @ X, X.T @ Si)
G = [np.eye(len(y)), F]
info = np.array([[0.5 * np.trace(P @ a @ P @ b) for b in G] for a in G])
cov = np.linalg.inv(info)
print(json.dumps(dict(scipy=scipy.__version__, slots=slots.tolist(), period=4, observations=y.tolist(), white=white, flicker=flicker,
                      uncertainty=[cov[0, 0], cov[0, 1], cov[1, 1]]), indent=1))
