import { setImmediate } from 'node:timers/promises';
import { serialiseSnapshot, snapshotJsonSchema } from '@stillmark/snapshot';
import type { Problem } from '@stillmark/problems';
import type { SiteView, Snapshot } from '@stillmark/records';
import { inWords } from '@stillmark/words';
import { highestLevel } from '@stillmark/wording';
import { dutiesCalendar } from './calendar.ts';
import { compareSnapshots } from '@stillmark/wording';
import { readSnapshot } from './compare.ts';
import type { Effects, Producer, Renderer } from './effects.ts';
import { memoryOf } from './analyse-project.ts';
import { sweepMemory } from './memory.ts';
import { logAtom, logCsv } from './log-files.ts';
import { forgetNotice, prepareNotice, tellNotice, type Tell, type Told } from './notify.ts';
import { putFolder } from './publish-folder.ts';
import { presentOf, writeReleased } from './release.ts';
import { openUpToDate } from './remote-store.ts';
import { filesOfSite } from './series-files.ts';
import { stateOf } from './state.ts';
import { countTranslated, readWordsOf } from './words-file.ts';
import { mapGeoJson, tablesOf } from './tables.ts';

export interface SnapshotTask {
  readonly out: string;
  /** The newest epoch where it is not given. */
  readonly asOfMs?: number;
  /** An earlier snapshot that the site tells its changes against. */
  readonly since?: string;
  /** A folder for the released site, which shows what was approved last. */
  readonly released?: string;
  /** Address of a store in object storage; the folder remembers it. */
  readonly storeAt?: string;
  /** A file for the overview by itself, to be mailed, and the address that its links lead to. */
  readonly single?: { readonly file: string; readonly address: string | undefined };
  /** Is told of changes of state since the snapshot that stood there, once the new one does. */
  readonly tell?: Tell;
}

export interface SnapshotResult {
  readonly snapshot: Snapshot;
  readonly files: number;
  readonly bytes: number;
  /** What was told; absent where no state changed, or nobody asked. */
  readonly told?: Told;
  /** The language of the site, and how much of it is said in it; absent in English. */
  readonly words?: { readonly language: string; readonly translated: number; readonly messages: number };
  readonly problems: readonly Problem[];
}

/** Computes the state of a project, draws its site and puts both into a folder, whole or not at all. */
export async function snapshot(
  folder: string,
  task: SnapshotTask,
  renderer: Renderer,
  producer: Producer,
  effects: Effects,
): Promise<SnapshotResult> {
  // That an earlier snapshot is none, or a file of words, nobody learns at the end of a long computation.
  const before = task.since === undefined ? undefined : await readSnapshot(task.since, effects.files);
  const opened = await openUpToDate(folder, effects, task.storeAt);
  const spoken = await readWordsOf(opened, effects.files);
  const state = await stateOf(opened, task.asOfMs, producer, effects);
  const words = spoken?.words;
  const view: SiteView = {
    ...state,
    ...(before ? { comparison: inWords(words, () => compareSnapshots(before, state.snapshot)) } : {}),
    ...(words ? { words } : {}),
  };
  const contents = new Map<string, Uint8Array>();
  const put = (path: string, content: Uint8Array | string): unknown =>
    contents.set(path, typeof content === 'string' ? new TextEncoder().encode(content) : content);

  effects.progress('writing series');
  // Threads write them while this one draws.
  const encoding = filesOfSite(view, effects.threads);
  // A drawing that fails is told first.
  encoding.catch(() => {});
  put('snapshot.json', serialiseSnapshot(view.snapshot));
  put('snapshot.schema.json', `${JSON.stringify(snapshotJsonSchema(), undefined, 1)}\n`);
  put('status.json', `${JSON.stringify(statusOf(view.snapshot), undefined, 1)}\n`);
  if (view.snapshot.triggers.length > 0) {
    put('log.csv', logCsv(view.snapshot));
    put('log.atom', logAtom(view.snapshot));
  }
  for (const [path, text] of tablesOf(view.snapshot)) put(path, text);
  put('map.geojson', mapGeoJson(view.snapshot));
  if (view.snapshot.health.duties.length > 0) put('duties.ics', dutiesCalendar(view.snapshot));
  if (words) put('words.json', `${JSON.stringify(words, undefined, 1)}\n`);
  effects.progress('drawing pages');
  for (const path of renderer.pages(view)) {
    put(path, await renderer.renderPage(path, view));
    // Threads that have finished are given more.
    await setImmediate();
  }
  for (const [path, bytes] of await renderer.assets()) put(path, bytes);
  const under = view.snapshot.map.background?.image;
  if (under && view.image) put(under.path, view.image);
  for (const [path, bytes] of await encoding) put(path, bytes);
  const { single } = task;
  const mailed = single && (await renderer.renderSingle(view, contents, single.address));

  const untold = task.tell && (await prepareNotice(task.out, view.snapshot, effects.files));
  try {
    await putFolder(task.out, contents, effects.files);
  } catch (error) {
    if (untold) await forgetNotice(untold, effects.files);
    throw error;
  }
  if (single && mailed !== undefined) await effects.files.write(single.file, mailed);
  if (task.released !== undefined)
    await writeReleased(folder, presentOf(view.snapshot), task.released, renderer, effects.files, words);
  const place = memoryOf(opened, effects.memory);
  if (place) sweepMemory(place, effects.nowMs());
  const outcome = task.tell && untold ? await tellNotice(untold, task.tell, effects.files) : { problems: [] };
  return {
    ...outcome,
    problems: [...(opened.remote?.problems ?? []), ...(spoken?.problems ?? []), ...outcome.problems],
    ...(words
      ? {
          words: {
            language: words.language,
            translated: countTranslated(renderer.messages, words),
            messages: renderer.messages.length,
          },
        }
      : {}),
    snapshot: view.snapshot,
    files: contents.size + 1,
    bytes: [...contents.values()].reduce((s, b) => s + b.length, 0),
  };
}

/** For an outside poll: a dead pipeline sends nothing, so the time after which silence is a fault stands in the file. */
function statusOf({
  project,
  asOf,
  validUntil,
  headline,
  network,
  stations,
  triggers,
}: Snapshot): Record<string, unknown> {
  return {
    project: project.title,
    asOf,
    validUntil,
    moved: headline.moved,
    still: headline.still,
    open: headline.open,
    doubted: headline.doubted,
    triggers: triggers.flatMap(({ name, levels, watched }) =>
      watched.map(({ of, state, since, newest }) => ({
        trigger: name,
        of,
        condition: state.condition,
        level: state.level,
        levelName: levels[state.level - 1]?.name,
        since,
        newest: newest?.at,
      })),
    ),
    highestLevel: highestLevel({ triggers })?.number ?? 0,
    pairs: network.pairs.map(({ held, seen, stream }) => ({
      held,
      seen,
      stream,
      moved: isMoved(stations, seen, stream),
    })),
  };
}

/** Whether a base seems to have moved in a stream; undefined where that cannot be stated. */
function isMoved(stations: Snapshot['stations'], seen: string, stream: string): boolean | undefined {
  const station = stations.find((s) => s.id === seen);
  const view = station && [station, ...station.others].find((v) => v.stream?.name === stream);
  const s = view?.statement;
  return s?.kind === 'displacement' ? s.horizontal.distinguishable || s.up.distinguishable : undefined;
}
