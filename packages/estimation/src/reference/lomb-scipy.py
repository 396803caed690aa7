"""Lomb-Scargle periodogram of scipy for periodogram.ts: python3 lomb-scipy.py writes lomb-scipy.json. Arbitrary numbers with gaps."""

import json

import numpy as np
import scipy
from scipy.signal import lombscargle

rng = np.random.default_rng(7)
t = np.sort(rng.choice(np.arange(0.0, 400.0), 300, replace=False))
x = rng.standard_normal(300) + 2 * np.cos(2 * np.pi * t / 37.0 + 1)
x -= x.mean()
f = np.array([1 / 400, 1 / 100, 1 / 37, 0.1, 0.25, 0.49])
# scipy's power is the sum of the two squares over two.
out = 2 * lombscargle(t, x, 2 * np.pi * f)
json.dump(
    {"scipy": scipy.__version__, "times": t.tolist(), "values": x.tolist(), "frequencies": f.tolist(), "power": out.tolist()},
    open("lomb-scipy.json", "w"),
)
