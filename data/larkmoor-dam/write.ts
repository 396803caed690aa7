/** Writes the demo project into a folder: `node write.ts FOLDER`. */
import { cp, mkdir, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { gzipSync } from 'node:zlib';
import { instant, positionTables, table, writeTexts } from '../synthetic/tables.ts';
import { larkmoorReadings, larkmoorSupplies, larkmoorVectors } from './generate.ts';
import { larkmoorOutline } from './outline.ts';
import { larkmoorContours, larkmoorRelief } from './terrain.ts';
import { broadcastOrbits, observations, receiverLogs } from './receivers.ts';
import { asCommand } from '../synthetic/command.ts';

export async function writeLarkmoor(folder: string, seed?: number): Promise<void> {
  await mkdir(folder, { recursive: true });
  await cp(fileURLToPath(new URL('project.yaml', import.meta.url)), join(folder, 'project.yaml'));
  // A file for each stream and month.
  const texts = positionTables(
    larkmoorVectors(seed),
    (stream, timeMs) => `positions/${stream}/${instant(timeMs).slice(0, 7)}.csv`,
  );
  texts.set('outline.geojson', larkmoorOutline());
  const { png, world } = larkmoorRelief();
  texts.set('background/relief.pgw', world);
  texts.set('background/contours.geojson', larkmoorContours());
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
  await writeTexts(folder, texts);
  await writeFile(join(folder, 'background/relief.png'), png);
}

await asCommand(import.meta.url, writeLarkmoor);
