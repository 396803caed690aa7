import { basename, join } from 'node:path';
import { fail, ProblemError } from '@stillmark/problems';
import { appendRelease, readReleases, type Project, type Release } from '@stillmark/project';
import {
  formatInstant,
  type BackgroundRecord,
  type ImageRecord,
  type PresentState,
  type ReleasedRecord,
  type Snapshot,
} from '@stillmark/records';
import { parseRelease, parseSnapshot, serialiseRelease } from '@stillmark/snapshot';
import { storeLock, withLock } from '@stillmark/store';
import { inWords, type Words } from '@stillmark/words';
import {
  explainedSentence,
  headlineSentences,
  leftOutSentence,
  reachedSentences,
  releasedHeadline,
  siteSentence,
  stateIn,
  watchSentence,
  ZoneClock,
} from '@stillmark/wording';
import { plainAssets, type Effects, type Files, type Renderer } from './effects.ts';
import { openProject, projectFile, releasesFile, sha256, throwErrors } from './project-folder.ts';
import { putFolder } from './publish-folder.ts';
import { verify } from './verify.ts';
import { readWordsOf } from './words-file.ts';

export interface ReleaseTask {
  /** Folder of the snapshot that is approved. */
  readonly site: string;
  readonly by: string;
  readonly atMs: number;
  readonly comment?: string;
  /** Where the released site is written at once. */
  readonly out?: string;
}

/**
 * Records that a person approves a snapshot for the released site: freezes its statements, without what the project file hides, in a file of the project
 * folder, and appends who, when and which to `releases.yaml`.
 *
 * @throws SNAPSHOT_FORMAT, USE_OPTION where the snapshot is not whole, or not of this project
 */
export async function release(
  folder: string,
  task: ReleaseTask,
  renderer: Renderer,
  effects: Effects,
): Promise<{ release: Release; record: ReleasedRecord }> {
  const { files } = effects;
  const opened = await openProject(folder, files);
  const { project, store } = opened;
  const { problems } = await verify(task.site, effects);
  if (problems.length > 0) throw new ProblemError(problems);
  const bytes = (await files.read(join(task.site, 'snapshot.json')))!;
  const snapshot = parseSnapshot(new TextDecoder().decode(bytes));
  checkBelongs(project, snapshot, task.site);
  const words = (await readWordsOf(opened, files))?.words;
  // What is approved is frozen in the language in which it was read.
  const record = inWords(words, () =>
    releasedRecord(project, snapshot, sha256(bytes), {
      by: task.by,
      at: formatInstant(task.atMs),
      ...(task.comment === undefined ? {} : { comment: task.comment }),
    }),
  );
  const image = record.background?.image;
  const pixels = image && (await files.read(join(task.site, image.path)))!;
  const text = serialiseRelease(record);
  const hash = sha256(new TextEncoder().encode(text));
  const entry: Release = {
    snapshot: record.snapshot,
    asOf: snapshot.asOf,
    ...record.approved,
    file: `releases/${snapshot.asOf.replaceAll(':', '-')}-${hash.slice(0, 8)}.json`,
    sha256: hash,
  };
  await withLock(storeLock(store.folder), 'store', async () => {
    const place = join(folder, releasesFile);
    const before = await files.read(place);
    const next = appendRelease(before && new TextDecoder().decode(before), entry);
    // Nothing is written that could not be read again.
    throwErrors(readReleases(next, releasesFile).problems);
    if (image && pixels) await files.write(join(folder, frozenImage(image)), pixels);
    await files.write(join(folder, entry.file), text);
    await files.write(place, next);
  });
  if (task.out !== undefined)
    await writeReleased(folder, presentOf(snapshot), task.out, renderer, files, words);
  return { release: entry, record };
}

/** Where the image of a release is frozen: by its hash, so that releases with the same image share it. */
const frozenImage = ({ path }: ImageRecord): string => `releases/${basename(path)}`;

export function presentOf({ project: { title, timeZone }, asOf, validUntil }: Snapshot): PresentState {
  return { title, timeZone, asOf, validUntil };
}

function checkBelongs(project: Project, snapshot: Snapshot, site: string): void {
  const ids = (stations: readonly { readonly id: string }[]): string =>
    stations
      .map(({ id }) => id)
      .sort()
      .join(' ');
  if (snapshot.project.title !== project.title || ids(snapshot.stations) !== ids(project.stations))
    fail(
      'USE_OPTION',
      `the snapshot is of '${snapshot.project.title}', and not of this project as it stands`,
      {
        at: { file: site },
        hint: `a snapshot of '${project.title}', with the stations of its ${projectFile}`,
      },
    );
}

/**
 * Statements of a snapshot as those outside may read them: of stations that are hidden no name, figure, level or place goes out.
 *
 * @throws PROJECT_VALUE where nothing that is monitored is left, or words that a person wrote for the release name what is hidden
 */
export function releasedRecord(
  project: Pick<Project, 'release'>,
  snapshot: Snapshot,
  hash: string,
  approved: ReleasedRecord['approved'],
): ReleasedRecord {
  const {
    stations: hiddenIds = [],
    coordinates = false,
    levels = false,
    background: noBackground = false,
  } = project.release?.hide ?? {};
  const hidden = new Set(hiddenIds);
  const names = hiddenIds.map(
    // Ids hold letters, digits, - and _ alone.
    (id) => new RegExp(`(?<![\\p{L}\\p{N}_-])${id}(?![\\p{L}\\p{N}_-])`, 'iu'),
  );
  const namesHidden = (text: string): boolean => names.some((name) => name.test(text));
  const clock = new ZoneClock(snapshot.project.timeZone);
  const reduced = withoutStations(snapshot, hidden);
  const { title, purpose, timeZone } = snapshot.project;
  for (const [what, text] of Object.entries({
    title,
    purpose,
    'name of who approves': approved.by,
    comment: approved.comment,
  }))
    if (text !== undefined && namesHidden(text))
      fail('PROJECT_VALUE', `the ${what} names a station that is not to be released`, {
        at: { file: projectFile },
        hint: 'other words, or another release.hide',
      });
  if (!reduced.stations.some(({ role }) => role === 'monitoring'))
    fail('PROJECT_VALUE', 'nothing that is monitored would be released', {
      at: { file: projectFile },
      hint: 'fewer stations in release.hide',
    });
  /** Words are frozen whole or left out: a sentence that names what is hidden is not mended. */
  const safe = (sentence: string): string => (namesHidden(sentence) ? leftOutSentence() : sentence);
  const allSafe = (sentences: readonly string[]): string[] => sentences.filter((s) => !namesHidden(s));
  const places = placesOf(reduced);
  return {
    format: 'stillmark-release',
    version: 1,
    project: { title, ...(purpose === undefined ? {} : { purpose }), timeZone },
    asOf: snapshot.asOf,
    snapshot: hash,
    approved,
    confidence: snapshot.settings.confidence,
    headline: releasedHeadline(allSafe(headlineSentences(reduced)), hidden.size > 0),
    ...(levels || reduced.triggers.length === 0
      ? {}
      : { levels: allSafe([watchSentence(reduced) ?? [], ...reachedSentences(reduced, clock)].flat()) }),
    stations: reduced.stations.map((station): ReleasedRecord['stations'][number] => {
      const { id, role, on, statement: s, response } = station;
      const state = stateIn(snapshot, station);
      const less =
        response?.commitment && response.corrected && state !== 'doubted'
          ? ` ${explainedSentence(response.corrected, snapshot.settings)}`
          : '';
      return {
        id,
        role,
        on: safe(on),
        state,
        sentence: safe(siteSentence(snapshot, station, clock) + less),
        ...(coordinates ? {} : { place: places.of(station) }),
        ...(s.kind === 'displacement' && state !== 'doubted'
          ? {
              movement: {
                east_mm: s.east_mm,
                north_mm: s.north_mm,
                up_mm: s.up_mm,
                upHalf_mm: s.up.plusMinus_mm,
                ellipse: s.horizontal.ellipse,
                distinguishable: s.horizontal.distinguishable,
                upDistinguishable: s.up.distinguishable,
              },
            }
          : {}),
      };
    }),
    ...(coordinates
      ? {}
      : { outline: reduced.map.outline.map((line) => withSafeName(places.line(line), safe)) }),
    ...(coordinates || noBackground
      ? {}
      : releasedBackground(reduced.map.background, places, hidden.size > 0, safe)),
    index: project.release?.index ?? false,
  };
}

/** What lies under the map as it may go out. An image can show what is hidden, and nobody can search it: it stays where anything is hidden. */
function releasedBackground(
  background: BackgroundRecord | undefined,
  places: Places,
  isReduced: boolean,
  safe: (text: string) => string,
): Pick<ReleasedRecord, 'background'> {
  if (!background) return {};
  const { image, layers } = background;
  const shown = image && !isReduced;
  if (!shown && layers.length === 0) return {};
  return {
    background: {
      ...(shown ? { image: { ...image, corner_m: places.point(image.corner_m) } } : {}),
      layers: layers.map((layer) => ({
        name: safe(layer.name),
        lines: layer.lines.map(({ label, ...line }) => ({
          ...places.line(line),
          // A label that names what is hidden is none.
          ...(label !== undefined && safe(label) === label ? { label } : {}),
        })),
      })),
    },
  };
}

/** A snapshot in which some stations do not occur: neither by name, nor in what is watched, nor in pairs. */
function withoutStations(snapshot: Snapshot, hidden: ReadonlySet<string>): Snapshot {
  const { headline } = snapshot;
  const shown = (ids: readonly string[]): string[] => ids.filter((id) => !hidden.has(id));
  const pairs = snapshot.pairs.filter(({ from, to }) => !hidden.has(from) && !hidden.has(to));
  const profiles = snapshot.profiles.filter(({ stations }) => !stations.some((id) => hidden.has(id)));
  const stations = snapshot.stations.filter(({ id }) => !hidden.has(id));
  // What is watched is a station, a pair, or something of a line whose name begins what it is called.
  const known = [
    ...stations.map(({ id }) => id),
    ...pairs.map(({ name }) => name),
    ...profiles.map(({ name }) => name),
  ];
  return {
    ...snapshot,
    headline: {
      ...headline,
      moved: shown(headline.moved),
      still: shown(headline.still),
      open: shown(headline.open),
      doubted: shown(headline.doubted),
    },
    stations,
    pairs,
    profiles,
    network: {
      ...snapshot.network,
      pairs: snapshot.network.pairs.filter(({ held, seen }) => !hidden.has(held) && !hidden.has(seen)),
    },
    triggers: snapshot.triggers.flatMap((trigger) => {
      const watched = trigger.watched.filter(({ of }) =>
        known.some((name) => of === name || of.startsWith(`${name} `)),
      );
      return watched.length > 0 ? [{ ...trigger, watched }] : [];
    }),
  };
}

interface Places {
  readonly of: (station: Snapshot['stations'][number]) => { east_m: number; north_m: number };
  readonly point: (plan: readonly [number, number]) => [number, number];
  readonly line: <T extends { readonly points_m: readonly number[] }>(line: T) => T;
}

/** Places from the middle of what is released, to the decimetre: the origin of the project may be a station that is not. */
function placesOf({ stations }: Snapshot): Places {
  const mean = (pick: (p: Snapshot['stations'][number]['position']) => number): number =>
    Math.round(stations.reduce((sum, { position }) => sum + pick(position), 0) / stations.length);
  const [east, north] = [mean((p) => p.east_m), mean((p) => p.north_m)];
  const less = (value: number, origin: number): number => Number((value - origin).toFixed(1));
  return {
    of: ({ position }) => ({ east_m: less(position.east_m, east), north_m: less(position.north_m, north) }),
    point: ([e, n]) => [less(e, east), less(n, north)],
    line: (line) => ({ ...line, points_m: line.points_m.map((v, i) => less(v, i % 2 === 0 ? east : north)) }),
  };
}

function withSafeName<T extends { readonly name?: string }>(line: T, safe: (text: string) => string): T {
  return line.name === undefined ? line : { ...line, name: safe(line.name) };
}

/**
 * Writes the released site: the statements that were approved last, and whether there is newer data. Nothing of a later snapshot but its time goes into it.
 *
 * @throws SNAPSHOT_FILE where the released file was changed after it was approved
 */
export async function writeReleased(
  folder: string,
  present: PresentState,
  out: string,
  renderer: Renderer,
  files: Files,
  words?: Words,
): Promise<{ released?: ReleasedRecord }> {
  const record = await lastRelease(folder, files);
  const contents = new Map<string, Uint8Array>();
  const put = (path: string, text: string): unknown => contents.set(path, new TextEncoder().encode(text));
  put(
    'index.html',
    await renderer.renderReleased({ ...(record ? { record } : {}), present, ...(words ? { words } : {}) }),
  );
  if (record) put('statements.json', serialiseRelease(record));
  if (!record?.index) put('robots.txt', 'User-agent: *\nDisallow: /\n');
  for (const [path, bytes] of await plainAssets(renderer)) contents.set(path, bytes);
  const image = record?.background?.image;
  if (image) contents.set(image.path, await frozenBytes(folder, frozenImage(image), image.sha256, files));
  await putFolder(out, contents, files);
  return record ? { released: record } : {};
}

async function lastRelease(folder: string, files: Files): Promise<ReleasedRecord | undefined> {
  const bytes = await files.read(join(folder, releasesFile));
  if (!bytes) return undefined;
  const { value = [], problems } = readReleases(new TextDecoder().decode(bytes), releasesFile);
  throwErrors(problems);
  const last = value.at(-1);
  if (!last) return undefined;
  const frozen = await frozenBytes(folder, last.file, last.sha256, files);
  return parseRelease(new TextDecoder().decode(frozen), last.file);
}

/** @throws SNAPSHOT_FILE where the file is not what was approved */
async function frozenBytes(folder: string, file: string, hash: string, files: Files): Promise<Uint8Array> {
  const bytes = await files.read(join(folder, file));
  if (!bytes || sha256(bytes) !== hash)
    return fail('SNAPSHOT_FILE', `what was released is ${bytes ? 'not what was approved' : 'missing'}`, {
      at: { file },
      hint: 'the file as it was, or another release',
    });
  return bytes;
}
