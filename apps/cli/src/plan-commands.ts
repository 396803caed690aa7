import { checkUnused, init, plan, type Effects, type InitTask } from '@stillmark/pipeline';
import { fail, type Problem } from '@stillmark/problems';
import {
  communicationSentence,
  displacementTestSentence,
  failureText,
  figuresSentence,
  placementSentences,
  powerSentence,
  processingSentence,
  skySentence,
  specificationSentence,
  startSentence,
  storageSentence,
  ZoneClock,
  zoneRuleSentence,
} from '@stillmark/wording';
import type { Command } from 'commander';
import { interview, missingOptions, withFallbacks, type Interviewed } from './interview.ts';
import { version } from './version.ts';

interface Shown {
  readonly lines: string[];
  readonly data: object;
  readonly problems?: readonly Problem[];
}

export const initDetails = `Reads the stations from a CSV file (columns id, role, on, latitude, longitude, height;
role is base or monitoring) and writes a commented DIR/project.yaml, processed from
each of the bases. It passes \`stillmark check\`; a project file that stands there is
never written over. What is not given is asked for: at a terminal, or with --ask from
lines of the standard input.`;

export function addInitOptions(command: Command): Command {
  return command
    .argument('<dir>', 'folder of the new project')
    .option('--stations <file>', 'CSV file of the stations')
    .option('--title <text>', 'title of the project')
    .option('--horizontal <length>', 'smallest horizontal movement that must be found, such as 8 mm')
    .option('--up <length>', 'the same up or down')
    .option('--interval <time>', 'time between processing runs (24 h)')
    .option('--time-zone <zone>', 'IANA name of the zone in which pages show times (UTC)')
    .option('--frame <name>', 'reference frame of the positions (ITRF2020)')
    .option('--ellipsoid <name>', 'GRS 1980 (unless said) or WGS 84')
    .option('--ask', 'ask for what is not given, also where no terminal is at hand');
}

export type InitOptions = Partial<Omit<InitTask, 'stations'>> & {
  readonly stations?: string;
  readonly ask?: boolean;
};

/** @param asked who can be asked; a person at a terminal is asked unbidden */
export async function initWork(
  folder: string,
  o: InitOptions,
  effects: Effects,
  asked: Interviewed & { readonly terminal: boolean },
): Promise<Shown> {
  // Nobody is asked for what could not be written.
  await checkUnused(folder, effects);
  const missing = missingOptions(o);
  if (missing.length > 0 && !o.ask && !asked.terminal)
    fail('USE_OPTION', `${missing.join(', ')} ${missing.length === 1 ? 'is' : 'are'} missing`, {
      hint: 'give them, or --ask to be asked',
    });
  const task = o.ask || missing.length > 0 ? await interview(o, asked) : withFallbacks(o);
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
    specificationSentence(own),
    ...placementSentences(own),
    ...own.zones.map(zoneRuleSentence),
    ...own.failures.map((failure) => `If ${failure.of} fails: ${failureText(failure)}.`),
    skySentence(own, clock),
    ...own.power.map(powerSentence),
    ...own.communications.map(communicationSentence),
    ...own.storage.map(storageSentence),
    ...(own.processing ? [processingSentence(own.processing)] : []),
    ...own.displacementTests.map((test) => displacementTestSentence(test, clock)),
    ...own.checklist.flatMap(({ what, done }) => (done === undefined ? [`Not done yet: ${what}.`] : [])),
    ...problems.map(({ message }) => `Doubt: ${message}.`),
  ].filter((line) => line !== undefined);
  return { lines: lines.map((line) => line.replaceAll('\u202f', ' ')), data: { plan: own } };
}
