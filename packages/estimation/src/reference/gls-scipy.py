"""Generalised least squares under white plus power-law noise, with dense matrices of numpy and scipy.

Writes gls-scipy.json: python3 gls-scipy.py. The observations are arbitrary numbers; nothing of the code under test is used.
"""

import json

import numpy as np
from scipy.linalg import cho_factor, cho_solve, toeplitz

rng = np.random.default_rng(20261125)


def response(n, d):
    h = np.ones(n)
    for k in range(1, n):
        h[k] = h[k - 1] * (k - 1 + d) / k
    return h


def design(slots):
    t = (slots - slots.mean()) / 365.25
    year = 2 * np.pi * t
    return np.column_stack([np.ones(len(t)), t, slots >= 70, np.cos(year), np.sin(year)]).astype(float)


def unit(slots, d):
    n = slots[-1] + 1
    T = np.tril(toeplitz(response(n, d)))
    return (T @ T.T)[np.ix_(slots, slots)]


def gls(X, y, C):
    factor = cho_factor(C, lower=True)
    N = X.T @ cho_solve(factor, X)
    beta = np.linalg.solve(N, X.T @ cho_solve(factor, y))
    r = y - X @ beta
    return {
        "coefficients": beta.tolist(),
        "covariance": np.linalg.inv(N).ravel().tolist(),
        "logDeterminant": 2 * float(np.log(np.diag(factor[0])).sum()),
        "logInformation": float(np.linalg.slogdet(N)[1]),
        "square": float(r @ cho_solve(factor, r)),
    }


slots = np.sort(rng.choice(np.arange(1, 149), 120, replace=False))
slots = np.concatenate([[0], slots, [149]])
X = design(slots)
y = 3 * rng.standard_normal(len(slots)) + np.cumsum(rng.standard_normal(len(slots))) * 0.3 + 5 * (slots >= 70)

cases = []
for d in (0.5, 0.25, 0.75, 1.0):
    for white, power in ((1.0, 0.5), (0.2, 2.0), (1.0, 1e-4), (0.0, 1.0)):
        C = white * np.eye(len(slots)) + power * unit(slots, d)
        cases.append({"d": d, "white": white, "power": power, **gls(X, y, C)})

# Means over the posterior of the share of flicker noise, uniform before the data, by a rule of many points.
U = unit(slots, 0.5)
n, p = X.shape
average = float(np.trace(U - U.mean(axis=0)) / (n - 1))
shares = (np.arange(4000) + 0.5) / 4000
costs, values, variances, scales = [], [], [], []
for s in shares:
    fit = gls(X, y, (1 - s) * np.eye(n) + s / average * U)
    scale = fit["square"] / (n - p)
    costs.append((n - p) * np.log(fit["square"]) + fit["logDeterminant"] + fit["logInformation"])
    values.append(fit["coefficients"])
    variances.append(scale * np.diag(np.array(fit["covariance"]).reshape(p, p)))
    scales.append(scale)
w = np.exp(-(np.array(costs) - min(costs)) / 2)
w /= w.sum()
values, variances, scales = map(np.array, (values, variances, scales))
mean = w @ values
variance = w @ (variances + (values - mean) ** 2)

json.dump(
    {
        "slots": slots.tolist(),
        "design": X.ravel().tolist(),
        "observations": y.tolist(),
        "cases": cases,
        "posterior": {
            "average": average,
            "share": float(w @ shares),
            "values": mean.tolist(),
            "variances": variance.tolist(),
            "white": float(w @ (scales * (1 - shares))),
            "power": float(w @ (scales * shares / average)),
        },
    },
    open("gls-scipy.json", "w"),
)
