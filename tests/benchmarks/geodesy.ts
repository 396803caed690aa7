/**
 * Conversions of a million points as ratios in one process: `node tests/benchmarks/geodesy.ts`. Geocentric to geodetic against proj4
 * a point; a 14-parameter transformation with covariances against that of the coordinates alone. Prints; asserts nothing.
 */
import { source } from '@stillmark/data/synthetic/noise.ts';
import {
  applyAffine,
  applyToCovariance,
  ellipsoids,
  FrameRegistry,
  toGeocentricAll,
  toGeodeticAll,
} from '@stillmark/geodesy';
import proj4 from 'proj4';

const n = 1_000_000;
const random = source(1);
const geodetic = Float64Array.from({ length: 3 * n }, (_, i) => {
  const u = random.uniform();
  return i % 3 === 0 ? Math.PI * (u - 0.5) : i % 3 === 1 ? 2 * Math.PI * (u - 0.5) : 9000 * u;
});
const xyz = new Float64Array(3 * n);
const out = new Float64Array(3 * n);
const covariance = Float64Array.from(
  { length: 6 * n },
  (_, i) => [4e-6, 1e-7, 2e-7, 3e-6, 1e-7, 9e-6][i % 6]!,
);
const turned = new Float64Array(6 * n);
const ellipsoid = ellipsoids['WGS 84'];
toGeocentricAll(ellipsoid, geodetic, xyz);

/** Least of several runs, so that neither warming up nor a neighbour counts; the sum keeps the work from being left out. */
function seconds(work: () => number, runs = 5): number {
  let least = Infinity;
  let sink = 0;
  for (let i = 0; i < runs; i++) {
    const start = process.hrtime.bigint();
    sink += work();
    least = Math.min(least, Number(process.hrtime.bigint() - start) / 1e9);
  }
  if (Number.isNaN(sink)) throw new Error('not a number');
  return least;
}

const converter = proj4('+proj=geocent +ellps=WGS84 +no_defs', '+proj=longlat +ellps=WGS84 +no_defs');
const ours = seconds(() => {
  toGeodeticAll(ellipsoid, xyz, out);
  return out[3]!;
});
const theirs = seconds(() => {
  let sum = 0;
  for (let i = 0; i < 3 * n; i += 3) sum += converter.forward([xyz[i]!, xyz[i + 1]!, xyz[i + 2]!])[0]!;
  return sum;
}, 2);
const path = new FrameRegistry().path('ITRF2014', 'ETRF2000');
const coordinates = seconds(() => {
  applyAffine(path.at(2026.4), xyz, out);
  return out[3]!;
});
const both = seconds(() => {
  const map = path.at(2026.4);
  applyAffine(map, xyz, out);
  applyToCovariance(map, covariance, turned);
  return turned[7]!;
});
const line = (name: string, s: number): string =>
  `${name.padEnd(44)} ${((1e9 * s) / n).toFixed(0).padStart(6)} ns a point`;
console.log(line('geocentric to geodetic', ours));
console.log(`${line('the same by proj4', theirs)}, ${(theirs / ours).toFixed(1)} times ours`);
console.log(line('14 parameters, coordinates', coordinates));
console.log(
  `${line('14 parameters, coordinates and covariances', both)}, ${(both / coordinates).toFixed(1)} times`,
);
