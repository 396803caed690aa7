"""Polar motion of the IERS (series EOP C04, IAU2000, public) as Debian's python3-astropy carries it, and fits of it by numpy.

python3 polar-motion.py PATH/eopc04_IAU2000.62-now writes polar-motion.json: every eighth day from 1997 to 2021 with the sigmas, and
the weighted and unweighted least-squares amplitudes of the yearly wave and of the Chandler wave of 433 days.
"""

import json
import sys

import numpy as np

rows = []
for line in open(sys.argv[1]):
    parts = line.split()
    if len(parts) == 16 and parts[0].isdigit() and 1997 <= int(parts[0]) <= 2021:
        rows.append([float(v) for v in (parts[3], parts[4], parts[5], parts[10], parts[11])])
a = np.array(rows)[::8]
t = a[:, 0] - a[0, 0]
x, y, sx, sy = (1000 * a[:, k] for k in (1, 2, 3, 4))
X = np.column_stack(
    [np.ones(len(t)), t - t.mean()] + [f(2 * np.pi * t / p) for p in (365.25, 433.0) for f in (np.cos, np.sin)]
)


def fit(values, sigma):
    w = 1 / sigma
    return np.linalg.lstsq(X * w[:, None], values * w, rcond=None)[0].tolist()


ones = np.ones(len(t))
json.dump(
    {
        "source": "IERS EOP C04 (IAU2000), https://hpiers.obspm.fr, as carried by Debian python3-astropy 5.2.1; milliarcseconds",
        "days": t.astype(int).tolist(),
        "x": [round(float(v), 3) for v in x],
        "y": [round(float(v), 3) for v in y],
        "sigmaX": [round(float(v), 3) for v in sx],
        "sigmaY": [round(float(v), 3) for v in sy],
        "terms": X.shape[1],
        "fits": {"x": fit(x, ones), "y": fit(y, ones), "xWeighted": fit(x, sx), "yWeighted": fit(y, sy)},
    },
    open("polar-motion.json", "w"),
)
f = fit(x, ones)
print(len(t), np.hypot(f[2], f[3]), np.hypot(f[4], f[5]), sx.min(), sx.max())
