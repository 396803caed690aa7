import { join } from 'node:path';
import { problem, ProblemError, warning, type Problem } from '@stillmark/problems';
import type { Snapshot, Standings, Transition, TransitionsNotice } from '@stillmark/records';
import {
  parseSnapshot,
  parseWaiting,
  serialiseWaiting,
  transitionsSchema,
  type Waiting,
} from '@stillmark/snapshot';
import {
  headlineSentence,
  highestLevel,
  standingsOf,
  transitionKey,
  transitionsBetween,
} from '@stillmark/wording';
import type { CommandEnd, Files } from './effects.ts';
import { sha256 } from './project-folder.ts';
import { beside } from './publish-folder.ts';

/** Tells somebody of changes: a command of the user's, which reads them on its standard input. */
export type Tell = (notice: string) => Promise<CommandEnd>;

/** Changes of state that are to be told once the snapshot stands in its place. */
export interface Untold {
  readonly notice?: TransitionsNotice;
  /** States that were told last, until the newer ones are. */
  readonly waiting: string;
  /** Whether they stood there before this command. */
  readonly waited: boolean;
  readonly problems: readonly Problem[];
}

/** What a command was told, and how it ended. */
export interface Told {
  readonly transitions: readonly Transition[];
  readonly end: CommandEnd;
}

/**
 * Compares a snapshot with what was told last: with what waits since a command failed, else with the snapshot that stands in its place. What was told
 * last is kept beside the place until the newer states are told: what a stopped command did not tell is told by the next, and so is what a
 * command that failed may have told half, even where it is as before again.
 */
export async function prepareNotice(out: string, snapshot: Snapshot, files: Files): Promise<Untold> {
  const place = await files.resolve(out);
  const waiting = beside(place, 'untold.json');
  const problems: Problem[] = [];
  const attempt = async <T>(path: string, read: (text: string) => T): Promise<T | undefined> => {
    const bytes = await files.read(path);
    if (!bytes) return undefined;
    try {
      return read(new TextDecoder().decode(bytes));
    } catch (error) {
      if (!(error instanceof ProblemError)) throw error;
      const { code, message } = error.problems[0]!;
      problems.push(
        warning(code, `what was told before cannot be read, and everything is told as new: ${message}`, {
          at: { file: path },
        }),
      );
      return undefined;
    }
  };
  const standing = async (): Promise<Waiting> => {
    const [there, previous] = [place, beside(place, 'previous')].map((f) => join(f, 'snapshot.json'));
    const path = (await files.kind(there!)) === 'file' ? there! : previous!;
    const standings = await attempt(path, (text) => standingsOf(parseSnapshot(text, path)));
    return { ...(standings ? { standings } : {}), told: [] };
  };
  const waited = (await files.kind(waiting)) === 'file';
  const before = waited
    ? ((await attempt(waiting, (text) => parseWaiting(text, waiting))) ?? { told: [] })
    : await standing();
  const transitions = transitionsBetween(before.standings, standingsOf(snapshot), new Set(before.told));
  if (transitions.length === 0) return { waiting, waited, problems };
  const told = [...new Set([...before.told, ...transitions.map(transitionKey)])];
  await files.write(waiting, serialiseWaiting({ ...before, told }));
  return { notice: noticeOf(place, snapshot, before.standings, transitions), waiting, waited, problems };
}

function noticeOf(
  site: string,
  snapshot: Snapshot,
  before: Standings | undefined,
  transitions: readonly Transition[],
): TransitionsNotice {
  const { project, asOf, validUntil } = snapshot;
  const states = transitions.map(({ kind, of, from, to, ...rest }) => [
    kind,
    of,
    'trigger' in rest ? [rest.trigger, rest.stream] : [],
    from,
    to,
  ]);
  return {
    format: 'stillmark-transitions',
    version: 1,
    id: sha256(JSON.stringify([project.title, before?.asOf ?? null, states])).slice(0, 32),
    project: project.title,
    asOf,
    validUntil,
    before: before ? { asOf: before.asOf } : null,
    headline: headlineSentence(snapshot),
    highestLevel: highestLevel(snapshot)?.number ?? 0,
    site,
    transitions,
    caution:
      'Not a life-safety alarm. The judgement of the responsible licensed engineer, local codes and the emergency plan come first.',
  };
}

/** Forgets what was written ahead, where the snapshot did not get to its place. */
export async function forgetNotice({ waiting, waited }: Untold, files: Files): Promise<void> {
  if (!waited) await files.remove(waiting);
}

/** Tells what changed, once the snapshot stands. A command that fails harms nothing but itself: what it was not told waits. */
export async function tellNotice(
  { notice, waiting, waited, problems }: Untold,
  tell: Tell,
  files: Files,
): Promise<{ told?: Told; problems: readonly Problem[] }> {
  if (!notice) {
    if (waited) await files.remove(waiting);
    return { problems };
  }
  const end = await tell(`${JSON.stringify(transitionsSchema.parse(notice), undefined, 1)}\n`);
  const told = { transitions: notice.transitions, end };
  if ('code' in end && end.code === 0) {
    await files.remove(waiting);
    return { told, problems };
  }
  const how = 'code' in end ? `ended with ${end.code}` : end.stopped;
  const failed = problem(
    'NOTIFY_FAILED',
    `the command that is told of changes ${how}; the site is written, and its ${notice.transitions.length} changes of state are told again by the next snapshot with --notify`,
    { at: { file: waiting }, hint: 'a command that reads its standard input and ends with 0' },
  );
  return { told, problems: [...problems, failed] };
}
