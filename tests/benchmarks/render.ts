/**
 * The site of fifty stations drawn from a snapshot that is there, set against reading the same series back from their Parquet files in the same process.
 * Needs a built command and the site of the demo dam: `npm run demo`, then `node tests/benchmarks/render.ts demo/site`
 */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { StationRecord, StationSeries, StreamView } from '@stillmark/records';
import { decodeReadings, decodeSeries, parseSnapshot } from '@stillmark/snapshot';

const site = process.argv[2] ?? 'demo/site';
const stations = 50;
const bytes = (path: string): ArrayBuffer => {
  const file = readFileSync(join(site, path));
  return file.buffer.slice(file.byteOffset, file.byteOffset + file.byteLength);
};
const snapshot = parseSnapshot(readFileSync(join(site, 'snapshot.json'), 'utf8'));
const whole = { fromMs: 0, toMs: Date.parse(snapshot.asOf) + 1 };

const begun = performance.now();
const known = new Map<string, StationSeries>();
for (const station of snapshot.stations)
  for (const { series } of [station, ...station.others])
    if (series)
      known.set(series.windows, await decodeSeries({ epochs: bytes(series.epochs), windows: bytes(series.windows) }, whole)); // prettier-ignore
const readings = new Map<string, Awaited<ReturnType<typeof decodeReadings>>>();
for (const { name, series } of snapshot.sensors)
  if (series !== undefined) readings.set(name, await decodeReadings(bytes(series), whole));
const reading = performance.now() - begun;

const series = new Map(known);
const copies = Array.from({ length: stations }, (_, k): StationRecord => {
  const original = snapshot.stations[k % snapshot.stations.length]!;
  if (k < snapshot.stations.length) return original;
  const renamed = (view: StreamView): StreamView => {
    if (!view.series) return view;
    const windows = `${view.series.windows}-${k}`;
    series.set(windows, known.get(view.series.windows)!);
    return { ...view, series: { ...view.series, windows } };
  };
  const { position } = original;
  const shift = 30 * Math.floor(k / snapshot.stations.length);
  return {
    ...original,
    ...renamed(original),
    id: `${original.id}x${k}`,
    position: { ...position, east_m: position.east_m + shift, north_m: position.north_m - shift },
    others: original.others.map(renamed),
  };
});
const view = { snapshot: { ...snapshot, stations: copies }, series, readings, ellipseOverInterval: 1.249 };
const { pages, renderPage } = (await import(
  new URL('../../apps/cli/dist/renderer/server/entry.mjs', import.meta.url).href
)) as { pages: (v: typeof view) => string[]; renderPage: (path: string, v: typeof view) => Promise<string> };

const from = performance.now();
let size = 0;
const slow: [string, number][] = [];
for (const path of pages(view)) {
  const before = performance.now();
  size += (await renderPage(path, view)).length;
  slow.push([path, performance.now() - before]);
}
const drawing = performance.now() - from;
console.log(
  `${pages(view).length} pages of ${stations} stations: ${(drawing / 1000).toFixed(1)} s, ${(size / 1e6).toFixed(0)} MB`,
);
console.log(
  `reading the series of ${snapshot.stations.length} stations: ${(reading / 1000).toFixed(1)} s; ratio ${(drawing / reading).toFixed(1)}`,
);
for (const [path, ms] of slow.sort(([, a], [, b]) => b - a).slice(0, 4))
  console.log(`  ${path}: ${ms.toFixed(0)} ms`);
