import { join } from 'node:path';
import { fail } from '@stillmark/problems';
import type { Files } from './effects.ts';

/** Version of the tables of the store; a change that older commands would read wrongly counts it up. */
export const storeVersion = 1;

/** Name of the file that tells it. */
export const versionFile = 'store.json';

/**
 * Checks that this version reads the store as it was written; a store of before there were versions is of the first.
 *
 * @throws STORE_VERSION for one of a later version, STORE_UNREADABLE where its version cannot be read
 */
export async function checkStoreVersion(store: string, files: Files): Promise<void> {
  const path = join(store, versionFile);
  const bytes = await files.read(path);
  if (bytes) checkVersion(bytes, path);
}

/** The same of the bytes that tell the version, at a path. */
export function checkVersion(bytes: Uint8Array, path: string): void {
  const version = versionIn(new TextDecoder().decode(bytes));
  if (version === undefined)
    fail('STORE_UNREADABLE', 'the version of the store cannot be read', {
      at: { file: path },
      hint: `{ "format": "stillmark-store", "version": ${storeVersion} }`,
    });
  else if (version > storeVersion)
    fail('STORE_VERSION', `the store is of version ${version}, this command reads up to ${storeVersion}`, {
      at: { file: path },
      hint: 'the stillmark that wrote it, or a later one; or to move the store away and ingest all deliveries anew',
    });
}

/** Writes the version beside the tables, where it does not stand there yet. */
export async function writeStoreVersion(store: string, files: Files): Promise<void> {
  const path = join(store, versionFile);
  if ((await files.kind(store)) !== 'folder' || (await files.read(path))) return;
  await files.write(path, `${JSON.stringify({ format: 'stillmark-store', version: storeVersion })}\n`);
}

function versionIn(text: string): number | undefined {
  try {
    const { format, version } = JSON.parse(text) as { readonly format?: unknown; readonly version?: unknown };
    return format === 'stillmark-store' && Number.isInteger(version) ? (version as number) : undefined;
  } catch {
    return undefined;
  }
}
