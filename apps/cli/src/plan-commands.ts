import { init, plan, type Effects, type InitTask } from '@stillmark/pipeline';
import type { Problem } from '@stillmark/problems';
import {
  communicationSentence,
  displacementTestSentence,
  failureText,
  figuresSentence,
  placementSentences,
  powerSentence,
  skySentence,
  startSentence,
  ZoneClock,
  zoneRuleSentence,
} from '@stillmark/wording';
import type { Command } from 'commander';
import { version } from './version.ts';

interface Shown {
  readonly lines: string[];
  readonly data: object;
  readonly problems?: readonly Problem[];
}

export const initDetails = `Reads the stations from a CSV file (columns id, role, on, latitude, longitude, height;
role is base or monitoring) and writes a commented DIR/project.yaml, processed from
each of the bases. It passes \`stillmark check\`; a project file that stands there is
never written over.`;

export function addInitOptions(command: Command): Command {
  return command
    .argument('<dir>', 'folder of the new project')
    .requiredOption('--stations <file>', 'CSV file of the stations')
    .requiredOption('--title <text>', 'title of the project')
    .requiredOption('--horizontal <length>', 'smallest horizontal movement that must be found, such as 8 mm')
    .requiredOption('--up <length>', 'the same up or down')
    .option('--interval <time>', 'time between processing runs', '24 h')
    .option('--time-zone <zone>', 'IANA name of the zone in which pages show times', 'UTC')
    .option('--frame <name>', 'reference frame of the positions', 'ITRF2020')
    .option('--ellipsoid <name>', 'GRS 1980 or WGS 84', 'GRS 1980');
}

export async function initWork(folder: string, o: InitTask, effects: Effects): Promise<Shown> {
  const { title, timeZone, frame, ellipsoid, horizontal, up, interval, stations } = o;
  const task = { title, timeZone, frame, ellipsoid, horizontal, up, interval, stations };
  const written = await init(folder, task, effects);
  const { file, bases } = written;
  return {
    lines: [
      `written ${file}: ${written.stations} stations, ${bases} of them ${bases === 1 ? 'a base' : 'bases'}`,
      `Next: fill in its plan, then \`stillmark plan ${folder}\`; positions go to ${folder}/positions.`,
    ],
    data: written,
  };
}

export async function planWork(folder: string, effects: Effects): Promise<Shown> {
  const { plan: own, project, problems } = await plan(folder, { name: 'stillmark', version }, effects);
  const clock = new ZoneClock(project.timeZone);
  const lines = [
    startSentence(own),
    figuresSentence(own, project),
    ...placementSentences(own),
    ...own.zones.map(zoneRuleSentence),
    ...own.failures.map((failure) => `If ${failure.of} fails: ${failureText(failure)}.`),
    skySentence(own, clock),
    ...own.power.map(powerSentence),
    ...own.communications.map(communicationSentence),
    ...own.displacementTests.map((test) => displacementTestSentence(test, clock)),
    ...own.checklist.flatMap(({ what, done }) => (done === undefined ? [`Not done yet: ${what}.`] : [])),
    ...problems.map(({ message }) => `Doubt: ${message}.`),
  ].filter((line) => line !== undefined);
  return { lines: lines.map((line) => line.replaceAll('\u202f', ' ')), data: { plan: own } };
}
