/** Writes the second demo project into a folder: `node write.ts FOLDER`. */
import { cp, mkdir } from 'node:fs/promises';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { instant, positionTables, table, writeTexts } from '../synthetic/tables.ts';
import { environmentOf } from './environment.ts';
import { plovermouthBattery, plovermouthReadings, plovermouthVectors } from './generate.ts';
import { plovermouthOutline } from './outline.ts';
import { truth } from './truth.ts';
import { asCommand } from '../synthetic/command.ts';

const week = 7 * 86_400_000;

/** @param seed another seed gives another history of noise, under the same weather */
export async function writePlovermouth(folder: string, seed?: number): Promise<void> {
  await mkdir(folder, { recursive: true });
  await cp(fileURLToPath(new URL('project.yaml', import.meta.url)), join(folder, 'project.yaml'));
  const environment = environmentOf();
  const start = Date.parse(truth.from);
  // A file for each stream and week, named by its first day.
  const texts = positionTables(plovermouthVectors(environment, seed), (stream, timeMs) => {
    const first = start + Math.floor((timeMs - start) / week) * week;
    return `positions/${stream}/${instant(first).slice(0, 10)}.csv`;
  });
  texts.set('outline.geojson', plovermouthOutline());
  const { timesMs, air, deck, tide, wind } = plovermouthReadings(environment);
  const columns = (header: string, ...values: [column: readonly number[], digits: number][]): string =>
    table(
      header,
      timesMs.map((t, i) => [instant(t), ...values.map(([v, digits]) => v[i]!.toFixed(digits))].join()),
    );
  texts.set('sensors/weather.csv', columns('time,air_temperature,wind_speed', [air, 1], [wind, 1]));
  texts.set('sensors/deck.csv', columns('time,steel_temperature', [deck, 1]));
  texts.set('sensors/tide.csv', columns('time,level', [tide, 2]));
  texts.set(
    'sensors/battery.csv',
    table(
      'time,volt',
      plovermouthBattery().map(([t, v]) => `${instant(t)},${v.toFixed(2)}`),
    ),
  );
  await writeTexts(folder, texts);
}

await asCommand(import.meta.url, writePlovermouth);
