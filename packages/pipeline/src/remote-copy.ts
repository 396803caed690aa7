import { dirname, join } from 'node:path';
import { fail } from '@stillmark/problems';
import {
  storeLock,
  tableNames,
  withLock,
  type ObjectStorage,
  type StoredObject,
  type TableName,
} from '@stillmark/store';
import type { Effects } from './effects.ts';
import { bothLedgers, ledgerFile, parseLedger, readLedger, writeLedger } from './ledger.ts';
import { storeFolder, type ProjectFolder } from './project-folder.ts';
import { writeRemoteMark, type RemoteMark } from './remote-mark.ts';
import { severalAtOnce } from './several.ts';
import { checkStoreVersion, versionFile } from './store-version.ts';

/** So often others may write between our look and our writing, before it is told. */
const attempts = 8;

/**
 * The store of a folder as a copy of one in object storage.
 *
 * A store is rows that are only ever added, so that two copies that have gone apart come together as the rows of both, whoever wrote first:
 * nothing is locked over there. What is sent is written only over what was known to stand there, and else joined first.
 */
export class RemoteCopy {
  readonly #opened: ProjectFolder;
  readonly #mark: RemoteMark;
  readonly #storage: ObjectStorage;
  readonly #effects: Effects;
  readonly #store: string;
  readonly #incoming: string;

  /** @param mark what is known of it; is kept up to date, in its file too */
  constructor(opened: ProjectFolder, mark: RemoteMark, storage: ObjectStorage, effects: Effects) {
    this.#opened = opened;
    this.#mark = mark;
    this.#storage = storage;
    this.#effects = effects;
    this.#store = join(opened.folder, storeFolder);
    this.#incoming = join(this.#store, 'incoming');
  }

  /** Whether tables stand both here and there. */
  async isTwoStores(): Promise<boolean> {
    return (
      (await this.#listed()).some(({ path }) => tableOf(path) !== undefined) &&
      (await this.#tables()).length > 0
    );
  }

  /**
   * Makes the folder hold every row that the storage holds.
   *
   * @throws STORE_REMOTE where it cannot be reached, or nothing is there any more; STORE_VERSION where a later version wrote it
   */
  async bring(): Promise<void> {
    for (let attempt = 1; attempt <= attempts; attempt++) {
      const listed = await this.#listed();
      await this.#setAside(new Set(listed.map(({ path }) => path)));
      const wanted: StoredObject[] = [];
      for (const object of listed) if (!(await this.#isHere(object))) wanted.push(object);
      const fetched = await this.#fetch(wanted);
      await this.#takeOver(wanted.filter((object) => fetched.has(object)));
      await this.#effects.files.remove(this.#incoming);
      await this.#keepMark();
      // What was written to between the look and the reading is looked at again.
      if (fetched.size === wanted.length) return;
    }
    fail('STORE_REMOTE', `the store was written to ${attempts} times while it was read`, {
      at: { file: this.#storage.address },
      hint: 'the same command again',
    });
  }

  /**
   * Sends what has changed here.
   *
   * @throws STORE_REMOTE where it cannot be reached; what was added stays here, for the next time
   */
  async send(): Promise<void> {
    for (let attempt = 1; attempt <= attempts; attempt++) {
      if (await this.#sendOnce()) return;
      this.#effects.progress(`joining what others wrote to ${this.#storage.address}`);
      await this.bring();
    }
    fail('STORE_REMOTE', `others wrote to the store ${attempts} times while this command was about to`, {
      at: { file: this.#storage.address },
      hint: 'the same command again, which goes on where this one stopped',
    });
  }

  /** Finds out once whether the storage heeds conditions, by asking it to write the version, as it stands, only where none stands; undefined where it could not be asked yet. */
  async heedsConditions(): Promise<boolean | undefined> {
    const mark = this.#mark;
    const seen = mark.files.get(versionFile);
    const version = await this.#effects.files.read(this.#place(versionFile));
    if (mark.heedsConditions !== undefined || !version || !seen) return mark.heedsConditions;
    const written = await this.#storage.write(versionFile, version, undefined);
    mark.heedsConditions = written === undefined;
    if (written !== undefined) mark.files.set(versionFile, { ...seen, etag: written });
    await this.#keepMark();
    return mark.heedsConditions;
  }

  #place(path: string): string {
    return join(this.#store, path);
  }

  #arrived(path: string): string {
    return join(this.#incoming, path.replaceAll('/', '__'));
  }

  #keepMark(): Promise<void> {
    return writeRemoteMark(this.#store, this.#mark, this.#effects.files);
  }

  /** Files of the tables in the folder. */
  async #tables(): Promise<string[]> {
    const { store, readings, tracking } = this.#opened;
    const tables = await Promise.all([store, readings, tracking].map((table) => table.partitions()));
    return tables.flat().map(({ path }) => path);
  }

  /** Objects that are files of a store, in the order in which they are taken over; what else lies there is none of ours, however it is called. */
  async #listed(): Promise<StoredObject[]> {
    const order = (path: string): number => (path === versionFile ? 0 : path === ledgerFile ? 2 : 1);
    return (await this.#storage.list())
      .filter(({ path }) => path === versionFile || path === ledgerFile || tableOf(path) !== undefined)
      .sort((a, b) => order(a.path) - order(b.path));
  }

  async #isHere({ path, etag }: StoredObject): Promise<boolean> {
    return (
      this.#mark.files.get(path)?.etag === etag &&
      (await this.#effects.files.kind(this.#place(path))) === 'file'
    );
  }

  /** Whether a file stands here as it stood there when both were seen to be alike. */
  async #isUnchanged(path: string): Promise<boolean> {
    const { files } = this.#effects;
    const place = this.#place(path);
    return (
      (await files.kind(place)) === 'file' && (await files.stamp(place)) === this.#mark.files.get(path)?.stamp
    );
  }

  /** A month that was taken away over there, to be built again, is not sent back from here; it is not thrown away either. */
  async #setAside(there: ReadonlySet<string>): Promise<void> {
    const { files } = this.#effects;
    for (const path of this.#mark.files.keys()) {
      if (there.has(path)) continue;
      if (there.size === 0)
        fail('STORE_REMOTE', 'nothing of the store stands there any more', {
          at: { file: this.#storage.address },
          hint: 'the bucket as it was; or, to send the copy of this folder there, store/remote.json moved away and --store-at once more',
        });
      if (await this.#isUnchanged(path)) {
        const aside = join(this.#store, 'set-aside', path);
        await files.makeFolder(dirname(aside));
        await files.rename(this.#place(path), aside);
      }
      this.#mark.files.delete(path);
    }
  }

  /** Reads objects into a folder of their own; gives those that were still as they were listed. */
  async #fetch(wanted: readonly StoredObject[]): Promise<Set<StoredObject>> {
    const { files, progress } = this.#effects;
    await files.remove(this.#incoming);
    const fetched = new Set<StoredObject>();
    const fetchOne = async (object: StoredObject): Promise<void> => {
      progress(`reading ${this.#storage.address}/${object.path}`);
      const bytes = await this.#storage.read(object);
      if (!bytes) return;
      await files.write(this.#arrived(object.path), bytes);
      fetched.add(object);
    };
    // A store of a later version is told before anything of it is taken.
    const version = wanted.find(({ path }) => path === versionFile);
    if (version) await fetchOne(version);
    if (version && fetched.has(version)) await checkStoreVersion(this.#incoming, files);
    await severalAtOnce(
      wanted.filter((object) => object !== version),
      fetchOne,
    );
    return fetched;
  }

  /** Puts what has arrived in its place, or joins it to what was added here. */
  async #takeOver(fetched: readonly StoredObject[]): Promise<void> {
    const { files } = this.#effects;
    const toJoin = await withLock(storeLock(this.#store), 'store', async () => {
      const apart: StoredObject[] = [];
      for (const object of fetched) {
        const { path, etag } = object;
        const place = this.#place(path);
        if ((await files.kind(place)) === 'file' && !(await this.#isUnchanged(path))) {
          apart.push(object);
          continue;
        }
        await files.makeFolder(dirname(place));
        await files.rename(this.#arrived(path), place);
        this.#mark.files.set(path, { etag, stamp: await files.stamp(place) });
      }
      return apart;
    });
    for (const { path, etag } of toJoin) {
      await this.#join(path, this.#arrived(path));
      this.#mark.files.set(path, { etag, stamp: '' });
    }
  }

  /** Adds what a file from elsewhere holds to that which has changed here. */
  async #join(path: string, theirs: string): Promise<void> {
    const { store, readings, tracking } = this.#opened;
    const table = tableOf(path);
    if (table) await { epochs: store, readings, tracking }[table].addFile(theirs);
    else if (path === ledgerFile) {
      const bytes = (await this.#effects.files.read(theirs))!;
      const both = bothLedgers(
        await readLedger(this.#opened, this.#effects),
        parseLedger(bytes, `${this.#storage.address}/${path}`),
      );
      await writeLedger(this.#opened, both, this.#effects);
    }
    // Of the version, which was checked, every copy that this command writes is alike.
  }

  /** Sends every file that has changed here; false where another stands there than was known. The list of deliveries goes last: what it tells of is there by then. */
  async #sendOnce(): Promise<boolean> {
    const { files, progress } = this.#effects;
    for (const path of [versionFile, ...(await this.#tables()), ledgerFile]) {
      const place = this.#place(path);
      if ((await files.kind(place)) !== 'file' || (await this.#isUnchanged(path))) continue;
      const stamp = await files.stamp(place);
      progress(`writing ${this.#storage.address}/${path}`);
      const known = this.#mark.files.get(path)?.etag;
      const etag = await this.#storage.write(path, (await files.read(place))!, known);
      if (etag === undefined) return false;
      this.#mark.files.set(path, { etag, stamp });
      await this.#keepMark();
    }
    return true;
  }
}

/** The table of a file of the store; undefined of one that is no part of a table. */
function tableOf(path: string): TableName | undefined {
  return tableNames.find((name) => new RegExp(`^${name}/month=\\d{4}-\\d{2}/${name}\\.parquet$`).test(path));
}
