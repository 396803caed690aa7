/**
 * The alarm load of 50 stations and 96 candidates over 64 runs of a year, with a step and a ramp: ours against numpy in the same run
 * (python3-numpy), which is given the same noise by fast Fourier transforms and moves the latches of all runs at once:
 * `node tests/benchmarks/alarm-load.ts`. Prints; asserts nothing.
 */
import { spawnSync } from 'node:child_process';
import { simulateLoad, type LoadStation } from '@stillmark/analysis';
import { dayMs, type AlarmSetting } from '@stillmark/records';

const hour = 3_600_000;
const noise = (white: number, flicker: number): LoadStation['noise']['up'] => ({
  white: white ** 2 * 1e-6,
  flicker: flicker ** 2 * 1e-6,
  uncertainty: [(white ** 4 * 1e-12) / 20, 0, (flicker ** 4 * 1e-12) / 20],
  whitened: new Float64Array(),
});
const stations = Array.from({ length: 50 }, (_, i): LoadStation => ({
  id: `S${i}`,
  noise: { east: noise(1.4, 0.3 + i * 0.01), north: noise(1.4, 0.3), up: noise(2.8, 0.6) },
  eastNorth: 0.1,
}));
const levels = [5, 7, 9, 12];
const persistences: [number, number][] = [
  [1, 1],
  [2, 3],
  [3, 4],
  [4, 6],
];
const candidates = [6, 12, 24].flatMap((hours) =>
  levels.flatMap((level_mm) =>
    persistences.flatMap(([needed, of]) =>
      (['estimate', 'confident'] as const).map((basis): AlarmSetting => ({
        windowMs: hours * hour,
        level_mm,
        persistence: { needed, of },
        basis,
        release: 0.8,
      })),
    ),
  ),
);
const start = process.hrtime.bigint();
const loads = simulateLoad({
  quantity: 'horizontal',
  side: 'either',
  stations,
  shared: 0.5,
  windowMs: 6 * hour,
  referenceMs: 28 * dayMs,
  confidence: 0.95,
  candidates,
  step: 12,
  ramp: 0.5,
  runs: 64,
  seed: 1,
});
const seconds = Number(process.hrtime.bigint() - start) / 1e9;
const alarms = loads.map((load) => load.alarms.reduce((s, v) => s + v, 0) / load.months);

// The still part alone (no step, no ramp) of the candidates that go by the figure itself.
const script = `
import json, sys, time
import numpy as np
levels, persistences = json.loads(sys.argv[1])
rng = np.random.default_rng(1)
t = time.time()
n, ref, runs = 112 + 1440, 112, 64
h = np.ones(n)
for k in range(1, n): h[k] = h[k-1] * (k - 0.5) / k
H = np.fft.rfft(h, 2 * n)
flick = lambda: np.fft.irfft(np.fft.rfft(rng.standard_normal((runs, n)), 2 * n) * H, 2 * n)[:, :n]
base = [[rng.standard_normal((runs, n)), flick()] for _ in range(2)]
out = {}
for s in range(50):
    axes = []
    for a, f in ((0, 0.3 + s * 0.01), (1, 0.3)):
        x = 1.4 * np.sqrt(.5) * (base[a][0] + rng.standard_normal((runs, n))) + f * np.sqrt(.5) * (base[a][1] + flick())
        axes.append(x - x[:, :ref].mean(1, keepdims=True))
    axes[1] = 0.1 * axes[0] + np.sqrt(0.99) * axes[1]
    for per in (1, 2, 4):
        size = np.hypot(*[x[:, ref:].reshape(runs, -1, per).mean(2) for x in axes])
        for level in levels:
            over, under = size >= level, size < 0.8 * level
            for needed, of in persistences:
                pad = lambda b: np.concatenate([np.zeros((runs, of), int), np.cumsum(b, 1)], 1)
                co, cu = pad(over), pad(under)
                no, nu = co[:, of:] - co[:, :-of], cu[:, of:] - cu[:, :-of]
                closes, opens = over & (no >= needed), under & (nu >= needed)
                closed = np.zeros(runs, bool)
                count = 0
                for k in range(size.shape[1]):
                    turns = np.where(closed, opens[:, k], closes[:, k])
                    count += int((turns & ~closed).sum())
                    closed ^= turns
                key = f'{6 * per} {level} {needed}'
                out[key] = out.get(key, 0) + count / (runs * 12)
print(json.dumps([time.time() - t, out]))
`;
const python = spawnSync('python3', ['-c', script, JSON.stringify([levels, persistences])], {
  encoding: 'utf8',
});
console.log(`ours: ${seconds.toFixed(1)} s, with intervals, steps and ramps`);
if (python.status !== 0) console.log(`no reference: ${python.stderr.slice(-300)}`);
else {
  const [reference, rates] = JSON.parse(python.stdout) as [number, Record<string, number>];
  console.log(
    `numpy: ${reference.toFixed(1)} s for still stations and the figure itself alone; ratio ${(seconds / reference).toFixed(2)}`,
  );
  candidates.forEach((c, i) => {
    const key = `${c.windowMs / hour} ${c.level_mm} ${c.persistence.needed}`;
    if (c.basis === 'estimate' && (rates[key] ?? 0) > 0.05)
      console.log(
        `${key.padEnd(8)} false alarms in 30 days: ours ${alarms[i]!.toFixed(2)}, numpy ${rates[key]!.toFixed(2)}`,
      );
  });
}
