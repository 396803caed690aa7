/** Writes the demo project into a folder: `node write.ts FOLDER`. */
import { cp, mkdir, writeFile } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { gzipSync } from 'node:zlib';
import { larkmoorReadings, larkmoorSupplies, larkmoorVectors, type Vectors } from './generate.ts';
import { larkmoorOutline } from './outline.ts';
import { broadcastOrbits, observations, receiverLogs } from './receivers.ts';

export async function writeLarkmoor(folder: string, seed?: number): Promise<void> {
  await mkdir(folder, { recursive: true });
  await cp(fileURLToPath(new URL('project.yaml', import.meta.url)), join(folder, 'project.yaml'));
  const files = new Map<string, string[]>();
  for (const vectors of larkmoorVectors(seed)) addRows(files, vectors);
  const texts = new Map([...files].map(([file, rows]) => [file, table(positionsHeader, rows.sort())]));
  texts.set('outline.geojson', larkmoorOutline());
  const { timesMs, temperature, level } = larkmoorReadings();
  texts.set(
    'sensors/weather.csv',
    table(
      'time,air_temperature',
      timesMs.map((t, i) => `${instant(t)},${temperature[i]!.toFixed(1)}`),
    ),
  );
  texts.set(
    'sensors/reservoir.csv',
    table(
      'time,level',
      timesMs.map((t, i) => `${instant(t)},${level[i]!.toFixed(2)}`),
    ),
  );
  for (const [name, unit, values] of larkmoorSupplies())
    texts.set(
      `sensors/${name}.csv`,
      table(
        `time,${unit}`,
        values.map(([t, v]) => `${instant(t)},${v.toFixed(unit === 'volt' ? 2 : 1)}`),
      ),
    );
  for (const [file, text] of receiverLogs()) texts.set(file, text);
  texts.set('observations/orbits.nav', broadcastOrbits());
  for (const id of ['B1', 'T05']) {
    const packed = gzipSync(observations(id), { level: 6 });
    await mkdir(join(folder, 'observations'), { recursive: true });
    await writeFile(join(folder, `observations/${id}.rnx.gz`), packed);
  }
  for (const [file, text] of texts) {
    await mkdir(dirname(join(folder, file)), { recursive: true });
    await writeFile(join(folder, file), text);
  }
}

const positionsHeader = 'time,station,x,y,z,cxx,cxy,cxz,cyy,cyz,czz';

const table = (header: string, rows: readonly string[]): string => `${header}\n${rows.join('\n')}\n`;

const instant = (ms: number): string => `${new Date(ms).toISOString().slice(0, 19)}Z`;

/** A file for each stream and month, as the processing would deliver them. */
function addRows(files: Map<string, string[]>, { stream, station, timesMs, xyz, covariance }: Vectors): void {
  timesMs.forEach((timeMs, i) => {
    const time = instant(timeMs);
    const file = `positions/${stream}/${time.slice(0, 7)}.csv`;
    const row = [time, station];
    for (let k = 0; k < 3; k++) row.push(xyz[3 * i + k]!.toFixed(4));
    for (let k = 0; k < 6; k++) row.push(covariance[6 * i + k]!.toExponential(4));
    let rows = files.get(file);
    if (!rows) files.set(file, (rows = []));
    rows.push(row.join(','));
  });
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const folder = process.argv[2];
  if (folder === undefined) {
    console.error('usage: node write.ts FOLDER');
    process.exit(2);
  }
  await writeLarkmoor(folder);
}
