import { join } from 'node:path';
import { fail } from '@stillmark/problems';
import type { Snapshot, SnapshotComparison } from '@stillmark/records';
import { manifestName, parseManifest, parseSnapshot } from '@stillmark/snapshot';
import { compareSnapshots } from '@stillmark/wording';
import type { Effects, Files } from './effects.ts';
import { sha256 } from './project-folder.ts';

const snapshotName = 'snapshot.json';

/** What differs between two snapshots, and the zone in which the second tells times. */
export async function compare(
  before: string,
  after: string,
  { files }: Effects,
): Promise<{ comparison: SnapshotComparison; timeZone: string }> {
  const [a, b] = [await readSnapshot(before, files), await readSnapshot(after, files)];
  return { comparison: compareSnapshots(a, b), timeZone: b.project.timeZone };
}

/**
 * A snapshot, from its folder or from its file alone. In a folder it must be as its manifest says.
 *
 * @throws USE_FILE_MISSING, SNAPSHOT_FORMAT, SNAPSHOT_FILE
 */
export async function readSnapshot(path: string, files: Files): Promise<Snapshot> {
  const kind = await files.kind(path);
  const file = kind === 'folder' ? join(path, snapshotName) : path;
  const bytes = kind === 'folder' || kind === 'file' ? await files.read(file) : undefined;
  if (!bytes)
    return fail('USE_FILE_MISSING', 'there is no snapshot', {
      at: { file: path },
      hint: `a folder written by \`stillmark snapshot\`, or its ${snapshotName}`,
    });
  const manifest = kind === 'folder' ? await files.read(join(path, manifestName)) : undefined;
  if (manifest) {
    const own = parseManifest(new TextDecoder().decode(manifest)).find(
      (entry) => entry.path === snapshotName,
    );
    if (own?.sha256 !== sha256(bytes))
      fail('SNAPSHOT_FILE', 'the file is changed', {
        at: { file },
        hint: 'the snapshot as it was written (`stillmark verify` tells all that is changed)',
      });
  }
  const snapshot = parseSnapshot(new TextDecoder().decode(bytes), file);
  checkSense(snapshot, file);
  return snapshot;
}

/** A snapshot may come from anywhere: what its form does not hold is checked here, as far as sentences rest on it. */
function checkSense({ project: { timeZone }, network, stations }: Snapshot, file: string): void {
  const at = { file };
  try {
    Intl.DateTimeFormat('en', { timeZone });
  } catch {
    fail('SNAPSHOT_FORMAT', `the time zone ${timeZone} is not known`, {
      at,
      hint: 'an IANA name, such as Europe/Vienna',
    });
  }
  const stranger = network.pairs.find(({ seen }) => !stations.some(({ id }) => id === seen));
  if (stranger)
    fail('SNAPSHOT_FORMAT', `a pair of bases names ${stranger.seen}, which is no station`, {
      at,
      hint: 'the snapshot as it was written',
    });
}
