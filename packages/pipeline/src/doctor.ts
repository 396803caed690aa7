import { join } from 'node:path';
import { fail, problem, type Problem } from '@stillmark/problems';
import { readProject } from '@stillmark/project';
import { formatInstant, type MachineFinding } from '@stillmark/records';
import { engineVersion, EpochStore, openObjectStorage } from '@stillmark/store';
import { formatSpan, machineGet, machineSentence } from '@stillmark/wording';
import { clockMarginMs } from './deliveries.ts';
import type { Effects } from './effects.ts';
import { projectFile, storeFolder } from './project-folder.ts';
import { readRemoteMark } from './remote-mark.ts';
import { checkStoreVersion, storeVersion } from './store-version.ts';

/** The machine, as far as it is looked at. */
export interface Machine {
  /** Without `v`. */
  readonly node: string;
  /** Bytes of memory that this process may have. */
  readonly memory: number;
  readonly threads: number;
  /** Version of the time zone data, where Node tells it. */
  readonly zoneData: string | undefined;
  readonly freeBytes: (folder: string) => Promise<number>;
  readonly mayWrite: (folder: string) => Promise<boolean>;
  /** Path of the first of these programs that is there. */
  readonly program: (names: readonly string[]) => Promise<string | undefined>;
}

/** Node of which the command is built, by its major version. */
const leastNode = 20;
/** The main job on a year of 5-minute positions of 50 stations took 0.84 GiB (DEVELOPERS.md, Speed). */
const leastMemory = 2 ** 30;
/** Common practice, no source: a month of a large store and a site beside it. */
const leastDisk = 200 * 2 ** 20;
/** No snapshot of this command is older than the command. */
const earliestClockMs = Date.UTC(2026, 0, 1);

/** Names by which systems call a Chromium. */
export const browsers = ['chromium', 'chromium-browser', 'google-chrome', 'google-chrome-stable', 'chrome'];

/** Looks at what the machine has and what it lacks; with a project, at its folder and store too. Nothing is written. */
export async function doctor(
  folder: string | undefined,
  machine: Machine,
  effects: Effects,
): Promise<{ findings: MachineFinding[]; problems: Problem[] }> {
  const { files } = effects;
  if (folder !== undefined && (await files.kind(folder)) !== 'folder')
    fail('USE_FOLDER_MISSING', 'there is no such folder', {
      at: { file: folder },
      hint: 'the folder that holds project.yaml',
    });
  const findings: MachineFinding[] = [];
  const say = (part: MachineFinding['part'], fine: boolean, found: string, optional = false): number =>
    findings.push({ part, state: fine ? 'fine' : optional ? 'optional' : 'missing', found });

  say('node', Number(machine.node.split('.')[0]) >= leastNode, machine.node);
  say('memory', machine.memory >= leastMemory, gibibytes(machine.memory), true);
  say('threads', true, String(machine.threads));
  const engine = await attempt(engineVersion);
  say('engine', engine.fine, engine.found);
  say('zones', knowsZones(), machine.zoneData === undefined ? 'there' : `data ${machine.zoneData}`);
  const chromium = await machine.program(browsers);
  say('chromium', chromium !== undefined, chromium ?? 'not found', true);
  const nowMs = effects.nowMs();
  if (nowMs < earliestClockMs) say('clock', false, `it says ${formatInstant(nowMs)}`);

  if (folder === undefined) {
    if (nowMs >= earliestClockMs) say('clock', true, formatInstant(nowMs));
  } else await lookAtProject(folder, machine, effects, engine.fine, say);

  const problems = findings
    .filter(({ state }) => state === 'missing')
    .map((finding) =>
      problem(
        'MACHINE_LACKS',
        machineSentence(finding)
          .split('\n')[0]!
          .replace(/^missing +/, ''),
        {
          hint: machineGet(finding.part),
        },
      ),
    );
  return { findings, problems };
}

type Say = (part: MachineFinding['part'], fine: boolean, found: string, optional?: boolean) => number;

async function lookAtProject(
  folder: string,
  machine: Machine,
  { files, nowMs }: Effects,
  engine: boolean,
  say: Say,
): Promise<void> {
  const text = await files.read(join(folder, projectFile));
  const read = text && readProject(new TextDecoder().decode(text), projectFile);
  const wrong = !read ? 'not there' : read.value ? undefined : `${read.problems.length} problems`;
  say('project', wrong === undefined, wrong ?? projectFile);

  const store = join(folder, storeFolder);
  const there = (await files.kind(store)) === 'folder';
  const closed: string[] = [];
  for (const place of there ? [folder, store] : [folder])
    if (!(await machine.mayWrite(place))) closed.push(place);
  say('right', closed.length === 0, closed.length === 0 ? folder : `not in ${closed.join(' and ')}`);
  const free = await machine.freeBytes(there ? store : folder);
  say('disk', free >= leastDisk, gibibytes(free));

  if (!there) {
    say('store', true, 'none yet');
    return;
  }
  const version = await attempt(async () => {
    await checkStoreVersion(store, files);
    return `version ${storeVersion} or earlier`;
  });
  if (!version.fine || !engine) {
    say('store', version.fine, version.found);
    return;
  }
  const opened = new EpochStore(store);
  const newest = await attempt(async () => {
    const ms = await opened.newest();
    return ms === undefined ? '' : formatInstant(ms);
  });
  const remote = await attempt(() => remoteFinding(store, files));
  const here = newest.fine ? `${(await opened.partitions()).length} months` : newest.found;
  say('store', newest.fine && remote.fine, remote.fine ? `${here}${remote.found}` : remote.found);
  if (!newest.fine) return;
  if (newest.found === '') {
    say('clock', true, `${formatInstant(nowMs())}; no epochs to compare it with`);
    return;
  }
  const aheadMs = Date.parse(newest.found) - nowMs();
  const apart = formatSpan(roughly(Math.abs(aheadMs)));
  say(
    'clock',
    aheadMs <= clockMarginMs,
    aheadMs > clockMarginMs
      ? `it says ${formatInstant(nowMs())}, and the newest epoch, ${newest.found}, is ${apart} later`
      : `${formatInstant(nowMs())}; the newest epoch, ${newest.found}, is ${apart} before`,
  );
}

/** Where the store stands in object storage, which must answer; nothing of a store on the disk. */
async function remoteFinding(store: string, files: Effects['files']): Promise<string> {
  const mark = await readRemoteMark(store, files);
  if (!mark) return '';
  await (await openObjectStorage(mark.address)).list();
  const alone =
    mark.heedsConditions === false
      ? ', where only one machine may ingest'
      : mark.heedsConditions === undefined
        ? ', of which the first ingest will show whether two machines may ingest at once'
        : '';
  return `; copy of ${mark.address}${alone}`;
}

/** To whole days, hours or minutes. */
function roughly(ms: number): number {
  const unit = ms >= 172_800_000 ? 86_400_000 : ms >= 7_200_000 ? 3_600_000 : 60_000;
  return Math.max(unit, Math.round(ms / unit) * unit);
}

async function attempt(work: () => Promise<string>): Promise<{ fine: boolean; found: string }> {
  try {
    return { fine: true, found: await work() };
  } catch (error) {
    // Whatever it is: a machine that is broken in a way nobody thought of must be told of too.
    return { fine: false, found: (error as Error).message.split('\n')[0]! };
  }
}

/** Whether zones and their summer time are known: a Node with small ICU takes some of them for UTC. */
function knowsZones(): boolean {
  const hourIn = (zone: string, month: number): string =>
    new Intl.DateTimeFormat('en-GB', { timeZone: zone, hour: '2-digit', hourCycle: 'h23' }).format(
      Date.UTC(2026, month, 1, 12),
    );
  try {
    // By IANA tzdata: Vienna is one hour before UTC, two in summer; Kiritimati fourteen.
    return (
      hourIn('Europe/Vienna', 0) === '13' &&
      hourIn('Europe/Vienna', 6) === '14' &&
      hourIn('Pacific/Kiritimati', 0) === '02'
    );
  } catch {
    return false;
  }
}

function gibibytes(bytes: number): string {
  return `${(bytes / 2 ** 30).toFixed(1)} GiB`;
}
