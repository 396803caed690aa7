/**
 * Trajectories of ten years of daily positions (three axes, a tenth missing, eight terms): ours against a dense maximum likelihood
 * of numpy and scipy in the same run (python3-scipy), and how ours grows: `node tests/benchmarks/trajectory.ts`. Prints; asserts nothing.
 */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { source, whitePlusFlicker } from '@stillmark/data/synthetic/noise.ts';
import {
  averagePower,
  fitTrajectories,
  flickerD,
  PowerLawGls,
  powerLawResponse,
} from '@stillmark/estimation';

interface Task {
  readonly slots: Int32Array;
  readonly terms: Float64Array;
  readonly series: readonly Float64Array[];
}

function taskOf(n: number): Task {
  const random = source(n);
  const slots = Int32Array.from(
    Array.from({ length: n }, (_, i) => i).filter((i) => i === 0 || i === n - 1 || random.uniform() > 0.1),
  );
  const terms = Float64Array.from(
    [...slots].flatMap((slot) => {
      const t = (slot - n / 2) / 365.25;
      const year = 2 * Math.PI * t;
      return [
        1,
        t,
        Math.cos(year),
        Math.sin(year),
        Math.cos(2 * year),
        Math.sin(2 * year),
        slot > n / 3 ? 1 : 0,
        slot > n / 2 ? 1 : 0,
      ];
    }),
  );
  const series = [0, 1, 2].map((axis) => {
    const noise = whitePlusFlicker(n, axis === 2 ? 4 : 2, axis === 2 ? 2 : 1, random);
    return Float64Array.from(slots, (slot) => noise[slot]! + (5 * slot) / 365.25);
  });
  return { slots, terms, series };
}

function ours({ slots, terms, series }: Task): { seconds: number; velocity: number; sigma: number } {
  const start = process.hrtime.bigint();
  const response = powerLawResponse(slots.at(-1)! + 1, flickerD);
  const gls = new PowerLawGls(slots, terms, 8, response);
  const fits = fitTrajectories(gls, series, [{ of: [0, 1] }, { of: [2] }], averagePower(slots, response));
  const { value, variance } = fits[0]!.estimates[1]!;
  return {
    seconds: Number(process.hrtime.bigint() - start) / 1e9,
    velocity: value,
    sigma: Math.sqrt(variance),
  };
}

const dense = `
import json, sys, time
import numpy as np
from scipy.linalg import cho_factor, cho_solve, toeplitz
from scipy.optimize import minimize
task = json.load(open(sys.argv[1]))
slots = np.array(task["slots"]); X = np.array(task["terms"]).reshape(len(slots), -1)
start = time.time()
n = slots[-1] + 1
h = np.ones(n)
for k in range(1, n): h[k] = h[k-1] * (k - 0.5) / k
T = np.tril(toeplitz(h))
U = (T @ T.T)[np.ix_(slots, slots)]
evaluations = 0
for y in task["series"]:
    y = np.array(y)
    def cost(theta):
        global evaluations
        evaluations += 1
        C = np.exp(theta[0]) * np.eye(len(y)) + np.exp(theta[1]) * U
        f = cho_factor(C, lower=True, overwrite_a=True, check_finite=False)
        S = cho_solve(f, X, check_finite=False)
        b = np.linalg.solve(X.T @ S, S.T @ y)
        r = y - X @ b
        return 2 * np.log(np.diag(f[0])).sum() + r @ cho_solve(f, r, check_finite=False)
    minimize(cost, [1.0, 0.0], method="Nelder-Mead", options={"xatol": 1e-3, "fatol": 1e-3})
print(json.dumps({"seconds": time.time() - start, "evaluations": evaluations}))
`;

for (const n of [1000, 2000, 4000, 8000]) {
  const task = taskOf(n);
  const { seconds } = ours(task);
  console.log(
    `${String(n).padStart(5)} days: ${seconds.toFixed(2)} s, ${((1e6 * seconds) / n / n).toFixed(3)} us by the square`,
  );
}
const task = taskOf(3652);
const mine = ours(task);
const folder = mkdtempSync(join(tmpdir(), 'stillmark-trajectory-'));
writeFileSync(
  join(folder, 'task.json'),
  JSON.stringify({ slots: [...task.slots], terms: [...task.terms], series: task.series.map((s) => [...s]) }),
);
const theirs = spawnSync('python3', ['-c', dense, join(folder, 'task.json')], { encoding: 'utf8' });
rmSync(folder, { recursive: true });
console.log(`ten years: ours ${mine.seconds.toFixed(2)} s`);
if (theirs.status === 0) {
  const { seconds, evaluations } = JSON.parse(theirs.stdout) as { seconds: number; evaluations: number };
  console.log(
    `dense by numpy and scipy ${seconds.toFixed(1)} s (${evaluations} evaluations), ${(seconds / mine.seconds).toFixed(1)} times ours`,
  );
} else console.log(`no dense reference: ${theirs.stderr.trim().split('\n').at(-1) ?? 'python3 is missing'}`);
