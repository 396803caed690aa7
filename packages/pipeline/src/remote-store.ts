import { join } from 'node:path';
import { fail, warning, type Problem } from '@stillmark/problems';
import { openObjectStorage, withLock } from '@stillmark/store';
import type { Effects } from './effects.ts';
import { openProject, storeFolder, type ProjectFolder } from './project-folder.ts';
import { RemoteCopy } from './remote-copy.ts';
import { readRemoteMark } from './remote-mark.ts';

/**
 * Opens a project folder with its store as it stands in object storage now, where it stands there; that of the folder is then a copy.
 *
 * @param storeAt address of the store; the folder remembers it. Without it, what the folder remembers
 * @throws STORE_REMOTE where it cannot be reached, USE_OPTION where the folder remembers another address, STORE_OTHER where the folder has
 * a store of its own that is no copy of that at the address
 */
export async function openUpToDate(
  folder: string,
  effects: Effects,
  storeAt?: string,
): Promise<ProjectFolder> {
  const { files } = effects;
  const opened = await openProject(folder, files);
  const store = join(folder, storeFolder);
  const known = await readRemoteMark(store, files);
  if (known && storeAt !== undefined && known.address !== storeAt)
    fail('USE_OPTION', `the store of this folder stands at ${known.address}, and not at ${storeAt}`, {
      at: { file: store },
      hint: 'to leave out --store-at; or to move store/remote.json away: then the folder has a store of its own, which can go to an address where none stands',
    });
  const address = known?.address ?? storeAt;
  if (address === undefined) return opened;
  await files.makeFolder(store);
  await alone(store, async () => {
    const mark = known ?? { address, files: new Map() };
    const copy = new RemoteCopy(opened, mark, await openObjectStorage(address), effects);
    if (!known && (await copy.isTwoStores()))
      fail('STORE_OTHER', `the folder has a store of its own, and another stands at ${address}`, {
        at: { file: store },
        hint: 'to move the folder `store` away: deliveries that are in the project folder are then added to the store over there',
      });
    await copy.bring();
  });
  return opened;
}

/**
 * Sends what was added to the store of a folder to object storage, where it stands there.
 *
 * @returns a warning where the storage would not keep two machines apart that write at once
 * @throws STORE_REMOTE where it cannot be reached; what was added is here, and goes there after the next `ingest`
 */
export async function pushStore(opened: ProjectFolder, effects: Effects): Promise<Problem[]> {
  const store = join(opened.folder, storeFolder);
  if (!(await readRemoteMark(store, effects.files))) return [];
  return alone(store, async () => {
    const mark = (await readRemoteMark(store, effects.files))!;
    const copy = new RemoteCopy(opened, mark, await openObjectStorage(mark.address), effects);
    await copy.send();
    if ((await copy.heedsConditions()) !== false) return [];
    return [
      warning(
        'STORE_REMOTE',
        'the storage writes over whatever stands there (it takes no heed of If-Match and If-None-Match): two machines that ingest at once may undo each other’s rows',
        { at: { file: mark.address }, hint: 'one machine alone that ingests; any number may read' },
      ),
    ];
  });
}

/** One command at a time of this machine fetches or sends. */
function alone<T>(store: string, work: () => Promise<T>): Promise<T> {
  return withLock(join(store, 'remote.lock'), 'store', work);
}
