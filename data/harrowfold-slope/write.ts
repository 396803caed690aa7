/** Writes the demo project into a folder: `node write.ts FOLDER`. */
import { cp, mkdir, writeFile } from 'node:fs/promises';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { harrowfoldPositions } from './generate.ts';
import { asCommand } from '../synthetic/command.ts';

export async function writeHarrowfold(folder: string, seed?: number): Promise<void> {
  await mkdir(folder, { recursive: true });
  await cp(fileURLToPath(new URL('project.yaml', import.meta.url)), join(folder, 'project.yaml'));
  for (const [file, text] of harrowfoldPositions(seed)) {
    await mkdir(dirname(join(folder, file)), { recursive: true });
    await writeFile(join(folder, file), text);
  }
}

await asCommand(import.meta.url, writeHarrowfold);
