import { dirname, join } from 'node:path';
import { setTimeout } from 'node:timers/promises';
import { fail, warning, type Problem } from '@stillmark/problems';
import {
  isReadable,
  lockWaitMs,
  rowsBeyond,
  storeLock,
  tableNames,
  withLock,
  type ObjectStorage,
  type StoredObject,
  type TableName,
} from '@stillmark/store';
import { hashOfFile } from './delivered-file.ts';
import type { Effects } from './effects.ts';
import { bothLedgers, changeLedger, ledgerFile, parseLedger } from './ledger.ts';
import { sha256, storeFolder, type FoundRemote, type ProjectFolder } from './project-folder.ts';
import { writeRemoteMark, type RemoteMark } from './remote-mark.ts';
import { severalAtOnce } from './several.ts';
import { checkVersion, versionFile } from './store-version.ts';

/** So often others may write between our look and our writing, before it is told; pauses grow, so that many at the full hour find their turn. */
const attempts = 12;
const pauseMs = 150;

/** What one writing may hold, by what Node reads in one piece. */
const mostBytes = 2 ** 31 - 1;

/**
 * The store of a folder as a copy of one in object storage.
 *
 * A store is rows that are only ever added, so that two copies that have gone apart come together as the rows of both, whoever wrote first:
 * nothing is locked over there. What is sent is written only over what was known to stand there, and only after it was joined to that.
 * Where what stands there holds less than this copy did (a month that was taken away to be built again), the copy follows, keeps what it
 * had beside it, and doubts the month until deliveries were read again.
 */
export class RemoteCopy {
  readonly #opened: ProjectFolder;
  readonly #mark: RemoteMark;
  readonly #storage: ObjectStorage;
  readonly #effects: Effects;
  readonly #store: string;
  readonly #incoming: string;
  readonly #problems: Problem[] = [];

  /** @param mark what is known of it; is kept up to date, in its file too */
  constructor(opened: ProjectFolder, mark: RemoteMark, storage: ObjectStorage, effects: Effects) {
    this.#opened = opened;
    this.#mark = mark;
    this.#storage = storage;
    this.#effects = effects;
    this.#store = join(opened.folder, storeFolder);
    this.#incoming = join(this.#store, 'incoming');
  }

  /** What was found so far. */
  get found(): FoundRemote {
    return { doubted: this.#mark.doubted, problems: this.#problems };
  }

  /** Whether tables stand both here and there. */
  async isTwoStores(): Promise<boolean> {
    return (
      (await this.#listed()).some(({ path }) => tableOf(path) !== undefined) &&
      (await this.#tables()).length > 0
    );
  }

  /**
   * Makes the folder hold what the storage holds, beside what was added here.
   *
   * @throws STORE_REMOTE where it cannot be reached, or nothing is there any more; STORE_VERSION where a later version wrote it;
   * STORE_UNREADABLE where a file that has changed here cannot be read
   */
  async bring(): Promise<void> {
    for (let attempt = 1; attempt <= attempts; attempt++) {
      const listed = await this.#listed();
      await this.#follow(new Set(listed.map(({ path }) => path)));
      const wanted: StoredObject[] = [];
      for (const object of listed)
        if (
          this.#mark.files.get(object.path)?.etag !== object.etag ||
          !(await this.#isUnchanged(object.path))
        )
          wanted.push(object);
      const fetched = await this.#fetch(wanted);
      // From here on the folder holds a copy, also where this command is stopped.
      await this.#keepMark();
      if (fetched.size > 0) await this.#takeOver(wanted.filter((object) => fetched.has(object)));
      await this.#effects.files.remove(this.#incoming);
      await this.#keepMark();
      // What was written to between the look and the reading is looked at again.
      if (fetched.size === wanted.length) return;
      await pause(attempt);
    }
    fail('STORE_REMOTE', `what the storage lists and what it gives did not agree ${attempts} times`, {
      at: { file: this.#storage.address },
      hint: 'the same command again; others may be writing',
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
      await pause(attempt);
      await this.bring();
    }
    fail('STORE_REMOTE', `others wrote to the store ${attempts} times while this command was about to`, {
      at: { file: this.#storage.address },
      hint: 'the same command again, which goes on where this one stopped',
    });
  }

  /** Deliveries for what was doubted were read again. */
  async settle(): Promise<void> {
    this.#mark.doubted.clear();
    await this.#keepMark();
  }

  /**
   * Finds out once whether the storage heeds conditions, by asking it to write the version, as it stands, where none stands, and over what
   * is not there; undefined where it could not be asked yet.
   */
  async heedsConditions(): Promise<boolean | undefined> {
    const mark = this.#mark;
    const version = await this.#effects.files.read(this.#place(versionFile));
    if (mark.heedsConditions !== undefined || !version || !mark.files.has(versionFile))
      return mark.heedsConditions;
    const written = [
      await this.#storage.write(versionFile, version, undefined),
      await this.#storage.write(versionFile, version, '0'.repeat(32)),
    ];
    mark.heedsConditions = written.every((etag) => etag === undefined);
    const last = written.findLast((etag) => etag !== undefined);
    if (last !== undefined) mark.files.set(versionFile, { ...mark.files.get(versionFile)!, etag: last });
    await this.#keepMark();
    return mark.heedsConditions;
  }

  #place(path: string): string {
    return join(this.#store, path);
  }

  /** Named by its etag too: what has arrived when a command is stopped need not come again. */
  #arrived({ path, etag }: StoredObject): string {
    return join(this.#incoming, `${inName(etag)}__${path.replaceAll('/', '__')}`);
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

  async #isHere(path: string): Promise<boolean> {
    return (await this.#effects.files.kind(this.#place(path))) === 'file';
  }

  /** Whether a file stands here as it stood there when both were seen to be alike; a copy of it made by another program has other times alone. */
  async #isUnchanged(path: string): Promise<boolean> {
    const { files } = this.#effects;
    const known = this.#mark.files.get(path);
    if (!known || known.sha256 === '' || !(await this.#isHere(path))) return false;
    const place = this.#place(path);
    const stamp = await files.stamp(place);
    if (stamp === known.stamp) return true;
    if ((await hashOfFile(place, files)) !== known.sha256) return false;
    this.#mark.files.set(path, { ...known, stamp });
    return true;
  }

  async #seen(path: string, etag: string): Promise<void> {
    const { files } = this.#effects;
    const place = this.#place(path);
    const stamp = await files.stamp(place);
    this.#mark.files.set(path, { etag, stamp, sha256: await hashOfFile(place, files) });
  }

  /** A month that was taken away over there, to be built again, is not sent back from here where nothing was added to it. */
  async #follow(there: ReadonlySet<string>): Promise<void> {
    for (const path of this.#mark.files.keys()) {
      if (there.has(path)) continue;
      if (there.size === 0)
        fail('STORE_REMOTE', 'nothing of the store stands there any more', {
          at: { file: this.#storage.address },
          hint: 'the bucket as it was; or, to send the copy of this folder there, store/remote.json moved away and --store-at once more',
        });
      if (await this.#storage.has(path))
        fail('STORE_REMOTE', `the storage holds ${path} and does not list it`, {
          at: { file: this.#storage.address },
          hint: 'the same command again; where it says the same, the storage is at fault',
        });
      if (await this.#isUnchanged(path)) await this.#locked(() => this.#setAside(path));
      this.#mark.files.delete(path);
    }
  }

  /** Keeps a file that is about to be replaced by less, and doubts what was read into it. */
  async #setAside(path: string): Promise<void> {
    const { files } = this.#effects;
    const { etag } = this.#mark.files.get(path) ?? { etag: 'own' };
    const aside = join('set-aside', inName(etag), path);
    await files.makeFolder(dirname(this.#place(aside)));
    await files.rename(this.#place(path), this.#place(aside));
    if (tableOf(path) === undefined) return;
    this.#mark.doubted.add(path);
    this.#problems.push(
      warning(
        'STORE_REMOTE',
        'rows are gone that stood here, or could not be read here; the file of before is kept',
        {
          at: { file: `${storeFolder}/${aside}` },
          hint: '`stillmark ingest` where the deliveries are: what they hold of this month is read again',
        },
      ),
    );
  }

  #locked<T>(work: () => Promise<T>): Promise<T> {
    return withLock(storeLock(this.#store), 'store', work, lockWaitMs);
  }

  /** Reads objects into a folder of their own; gives those that were still as they were listed. */
  async #fetch(wanted: readonly StoredObject[]): Promise<Set<StoredObject>> {
    const { files, progress } = this.#effects;
    const fetched = new Set<StoredObject>();
    const fetchOne = async (object: StoredObject): Promise<void> => {
      const place = this.#arrived(object);
      if ((await files.kind(place)) !== 'file') {
        progress(`reading ${this.#storage.address}/${object.path}`);
        const bytes = await this.#storage.read(object);
        if (!bytes) return;
        await files.write(place, bytes);
      }
      fetched.add(object);
    };
    // A store of a later version is told before anything of it is taken.
    const version = wanted.find(({ path }) => path === versionFile);
    if (version) await fetchOne(version);
    if (version && fetched.has(version))
      checkVersion((await files.read(this.#arrived(version)))!, `${this.#storage.address}/${versionFile}`);
    await severalAtOnce(
      wanted.filter((object) => object !== version),
      fetchOne,
    );
    return fetched;
  }

  /** Puts what has arrived in its place, or joins it to what was added here. */
  async #takeOver(fetched: readonly StoredObject[]): Promise<void> {
    const { files } = this.#effects;
    for (const object of fetched)
      if (tableOf(object.path) !== undefined && !(await isReadable(this.#arrived(object))))
        fail('STORE_UNREADABLE', 'a file of the store in object storage cannot be read', {
          at: { file: `${this.#storage.address}/${object.path}` },
          hint: 'the object as it was written, such as an earlier version of it; or to take it away, and to ingest where the deliveries are',
        });
    const toJoin = await this.#locked(async () => {
      const apart: StoredObject[] = [];
      for (const object of fetched) {
        const { path, etag } = object;
        const place = this.#place(path);
        const arrived = this.#arrived(object);
        if (await this.#isHere(path)) {
          // One that was spoilt here is not joined: it would go there.
          const spoilt = tableOf(path) !== undefined && !(await isReadable(place));
          if (!spoilt && !(await this.#isUnchanged(path))) {
            apart.push(object);
            continue;
          }
          const isLess = tableOf(path) !== undefined && (spoilt || (await rowsBeyond(place, arrived)) > 0);
          if (isLess) await this.#setAside(path);
        }
        await files.makeFolder(dirname(place));
        await files.rename(arrived, place);
        await this.#seen(path, etag);
      }
      return apart;
    });
    for (const object of toJoin) {
      const { path, etag } = object;
      const arrived = this.#arrived(object);
      await this.#join(path, arrived);
      // Bytes depend on the rows alone: where they are the same, nothing of our own is in it.
      if ((await hashOfFile(this.#place(path), files)) === (await hashOfFile(arrived, files)))
        await this.#seen(path, etag);
      else this.#mark.files.set(path, { etag, stamp: '', sha256: '' });
    }
  }

  /** Adds what a file from elsewhere holds to that which has changed here. */
  async #join(path: string, theirs: string): Promise<void> {
    const { store, readings, tracking } = this.#opened;
    const table = tableOf(path);
    if (table) await { epochs: store, readings, tracking }[table].addFile(theirs);
    else if (path === ledgerFile) {
      const bytes = (await this.#effects.files.read(theirs))!;
      const others = parseLedger(bytes, `${this.#storage.address}/${path}`);
      await changeLedger(this.#opened, (now) => bothLedgers(now, others), this.#effects);
    }
    // Of the version, which was checked, every copy that this command writes is alike.
  }

  /** Sends every file that has changed here; false where another stands there than was known. The list of deliveries goes last: what it tells of is there by then. */
  async #sendOnce(): Promise<boolean> {
    const { files, progress } = this.#effects;
    for (const path of [versionFile, ...(await this.#tables()), ledgerFile]) {
      if (!(await this.#isHere(path)) || (await this.#isUnchanged(path))) continue;
      const place = this.#place(path);
      if ((await files.size(place)) > mostBytes)
        fail('STORE_REMOTE', 'a month of more than 2 GiB cannot be sent in one writing', {
          at: { file: `${storeFolder}/${path}` },
          hint: 'a store on a disk for positions that come this often, or means of them',
        });
      const stamp = await files.stamp(place);
      const bytes = (await files.read(place))!;
      progress(`writing ${this.#storage.address}/${path}`);
      const etag = await this.#storage.write(path, bytes, this.#mark.files.get(path)?.etag);
      if (etag === undefined) return false;
      this.#mark.files.set(path, { etag, stamp, sha256: sha256(bytes) });
      await this.#keepMark();
    }
    return true;
  }
}

/** Pauses are of different lengths, so that those who met once do not meet again. */
function pause(attempt: number): Promise<void> {
  return setTimeout(pauseMs * attempt * (0.5 + Math.random()));
}

/** An etag as part of a name: what stands in it is the storage's. */
function inName(etag: string): string {
  return etag.replace(/[^\w-]/g, '_');
}

/** The table of a file of the store; undefined of one that is no part of a table. */
function tableOf(path: string): TableName | undefined {
  return tableNames.find((name) => new RegExp(`^${name}/month=\\d{4}-\\d{2}/${name}\\.parquet$`).test(path));
}
