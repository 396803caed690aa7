import { fileURLToPath } from 'node:url';

/** Runs what writes a project where its file is the one that Node was called with: `node write.ts FOLDER`. */
export async function asCommand(url: string, write: (folder: string) => Promise<void>): Promise<void> {
  if (process.argv[1] !== fileURLToPath(url)) return;
  const folder = process.argv[2];
  if (folder === undefined) {
    process.stderr.write('usage: node write.ts FOLDER\n');
    process.exit(2);
  }
  await write(folder);
}
