/**
 * The sky of fifty stations over ten days, a step a minute, 120 satellites: set against looking at every satellite from one station in the plain way
 * (angles of each, then the dilution), in the same process. `node tests/benchmarks/sky.ts`
 */
import { dilutionOf, ellipsoids, keplerOrbit, lookAngles, orbitConstants, radians, SkyPositions, TopocentricFrame, type KnownOrbit } from '@stillmark/geodesy'; // prettier-ignore
import { Horizon, skyPlan, skyTable } from '@stillmark/planning';

const day = 86_400_000;
const start = Date.UTC(2026, 10, 22);
const stations = 50;
const orbits = Array.from({ length: 120 }, (_, i): KnownOrbit => ({
  satellite: `${'GREC'[i % 4]}${String(Math.floor(i / 4) + 1).padStart(2, '0')}`,
  fromMs: start - day,
  toMs: start + 11 * day,
  referenceMs: start,
  healthy: true,
  orbit: keplerOrbit({
    constants: { ...orbitConstants.GPS },
    toeMs: start,
    toe: 0,
    sqrtA: 5050 + 130 * (i % 4),
    eccentricity: 0.01 * (i % 3),
    inclination: radians(54 + 3 * (i % 4)),
    inclinationRate: 0,
    node: radians(60 * i),
    nodeRate: -8e-9,
    perigee: radians(17 * i),
    meanAnomaly: radians(137.5 * i),
    meanMotionDifference: 0,
  }),
}));
const frameOf = (k: number): TopocentricFrame =>
  TopocentricFrame.atGeodetic(ellipsoids['GRS 1980'], { latitude: radians(46 + k / 50), longitude: radians(9), height: 400 }); // prettier-ignore
const horizon = new Horizon([{ azimuth: 20, elevation: 12 }, { azimuth: 90, elevation: 40 }, { azimuth: 200, elevation: 5 }], 10); // prettier-ignore
const span = { sky: new SkyPositions(orbits), fromGpsMs: start, spanMs: 10 * day, stepMs: 60_000 };

const begun = performance.now();
const table = skyTable(span);
const tabled = performance.now();
let sum = 0;
for (let k = 0; k < stations; k++)
  sum += skyPlan({ frame: frameOf(k), horizon, table, limits: { satellites: 6, pdop: 4 } }).meanSatellites;
const done = performance.now();

const plain = new SkyPositions(orbits);
let same = 0;
for (let i = 0; i < table.steps; i++) {
  const seen = plain.satellites.flatMap((satellite) => {
    const position = plain.at(satellite, start + i * 60_000);
    const angles = position && lookAngles(frameOf(0), position);
    return angles && angles.elevation > 0 && horizon.sees(angles.azimuth, angles.elevation) ? [angles] : [];
  });
  dilutionOf(seen);
  same += seen.length;
}
const reference = performance.now() - done;
console.log(
  `${stations} stations: ${((done - begun) / 1000).toFixed(1)} s (orbits ${((tabled - begun) / 1000).toFixed(1)} s); ${(sum / stations).toFixed(2)} satellites in the mean`,
);
console.log(
  `one station in the plain way: ${(reference / 1000).toFixed(1)} s (${(same / table.steps).toFixed(2)} satellites); ratio for each station ${((done - begun) / stations / reference).toFixed(3)}`,
);
