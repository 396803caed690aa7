import { join } from 'node:path';
import { fail, ProblemError, warning, type Problem } from '@stillmark/problems';
import { lockWaitMs, openObjectStorage, withLock } from '@stillmark/store';
import type { Effects } from './effects.ts';
import { openProject, storeFolder, type ProjectFolder } from './project-folder.ts';
import { RemoteCopy } from './remote-copy.ts';
import { readRemoteMark, type RemoteMark } from './remote-mark.ts';

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
  if (storeAt === undefined && !(await readRemoteMark(store, files))) return opened;
  await files.makeFolder(store);
  return alone(store, async () => {
    const known = await readRemoteMark(store, files);
    if (known && storeAt !== undefined && known.address !== storeAt)
      fail('USE_OPTION', `the store of this folder stands at ${known.address}, and not at ${storeAt}`, {
        at: { file: store },
        hint: 'to leave out --store-at; or to move store/remote.json away: then the folder has a store of its own, which can go to an address where none stands',
      });
    const address = known?.address ?? storeAt;
    // It was moved away meanwhile.
    if (address === undefined) return opened;
    const copy = await copyOf(opened, known, address, effects);
    if (!known && (await copy.isTwoStores()))
      fail('STORE_OTHER', `the folder has a store of its own, and another stands at ${address}`, {
        at: { file: store },
        hint: 'to move the folder `store` away: deliveries that are in the project folder are then added to the store over there',
      });
    await copy.bring();
    const { doubted, problems } = copy.found;
    return { ...opened, remote: { doubted: new Set(doubted), problems } };
  });
}

/**
 * Sends what was added to the store of a folder to object storage, where it stands there.
 *
 * @param whole everything that is delivered in the folder was read
 * @returns what hinders it (what was added then stays here, and goes there with the next `ingest`), and a warning where the storage would
 * not keep two machines apart that write at once
 */
export async function pushStore(opened: ProjectFolder, whole: boolean, effects: Effects): Promise<Problem[]> {
  const store = join(opened.folder, storeFolder);
  if (!(await readRemoteMark(store, effects.files))) return [];
  try {
    return await alone(store, async () => {
      const mark = await readRemoteMark(store, effects.files);
      if (!mark) return [];
      const copy = await copyOf(opened, mark, mark.address, effects);
      if (whole) await copy.settle();
      await copy.send();
      const { problems } = copy.found;
      if ((await copy.heedsConditions()) !== false) return [...problems];
      const message =
        'the storage writes over whatever stands there (it takes no heed of If-Match or If-None-Match): two machines that ingest at once may undo each other’s rows';
      return [
        ...problems,
        warning('STORE_REMOTE', message, {
          at: { file: mark.address },
          hint: 'one machine alone that ingests; any number may read',
        }),
      ];
    });
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error;
    // What was ingested is told all the same.
    return error.problems.map((problem) => ({
      ...problem,
      message: `${problem.message}. What was ingested waits in this folder for the next ingest`,
    }));
  }
}

async function copyOf(
  opened: ProjectFolder,
  known: RemoteMark | undefined,
  address: string,
  effects: Effects,
): Promise<RemoteCopy> {
  const storage = await openObjectStorage(address);
  const { endpoint } = storage;
  if (known && known.endpoint !== endpoint)
    fail(
      'USE_OPTION',
      `the store of this folder stands at ${address} of ${nameOf(known.endpoint)}, and this command would ask ${nameOf(endpoint)}`,
      {
        at: { file: join(opened.folder, storeFolder) },
        hint: 'AWS_ENDPOINT_URL_S3 as it was; or, where the storage has another name now, `endpoint` in store/remote.json changed to it',
      },
    );
  const mark = known ?? { address, endpoint, files: new Map(), doubted: new Set<string>() };
  return new RemoteCopy(opened, mark, storage, effects);
}

const nameOf = (endpoint: string): string => (endpoint === '' ? 'the endpoint of its region' : endpoint);

/** One command at a time of this machine fetches or sends. */
function alone<T>(store: string, work: () => Promise<T>): Promise<T> {
  return withLock(join(store, 'remote.lock'), 'store', work, lockWaitMs);
}
