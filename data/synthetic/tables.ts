/** Tables in CSV, as processings and loggers write them. */
import { mkdir, writeFile } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import type { Vectors } from './vectors.ts';

const positionsHeader = 'time,station,x,y,z,cxx,cxy,cxz,cyy,cyz,czz';

export const table = (header: string, rows: readonly string[]): string => `${header}\n${rows.join('\n')}\n`;

export const instant = (ms: number): string => `${new Date(ms).toISOString().slice(0, 19)}Z`;

/**
 * Positions by file, as the processing would deliver them: each file in the order of time and station.
 *
 * @param fileOf the file of a time
 */
export function positionTables(
  all: readonly Vectors[],
  fileOf: (stream: string, timeMs: number) => string,
): Map<string, string> {
  const files = new Map<string, string[]>();
  for (const { stream, station, timesMs, xyz, covariance } of all)
    timesMs.forEach((timeMs, i) => {
      const file = fileOf(stream, timeMs);
      const row = [instant(timeMs), station];
      for (let k = 0; k < 3; k++) row.push(xyz[3 * i + k]!.toFixed(4));
      for (let k = 0; k < 6; k++) row.push(covariance[6 * i + k]!.toExponential(4));
      let rows = files.get(file);
      if (!rows) files.set(file, (rows = []));
      rows.push(row.join(','));
    });
  return new Map([...files].map(([file, rows]) => [file, table(positionsHeader, rows.sort())]));
}

/** Writes texts under their paths in a folder. */
export async function writeTexts(folder: string, texts: ReadonlyMap<string, string>): Promise<void> {
  for (const [file, text] of texts) {
    await mkdir(dirname(join(folder, file)), { recursive: true });
    await writeFile(join(folder, file), text);
  }
}
