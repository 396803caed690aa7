import { archive, compare, restore, type ArchiveTask, type Effects } from '@stillmark/pipeline';
import { visible, type Problem } from '@stillmark/problems';
import {
  archiveSentences,
  comparisonHead,
  comparisonLimits,
  comparisonSections,
  restoreSentences,
  ZoneClock,
} from '@stillmark/wording';
import { Option, type Command } from 'commander';
import { version } from './version.ts';

interface Shown {
  readonly lines: string[];
  readonly data: object;
  readonly problems?: readonly Problem[];
}

/** Adds a command of which name, summary and details are given. */
type Add = (name: string, summary: string, details: string) => Command;
/** Runs what a command does, and reports it. */
type Perform = (json: boolean | undefined, work: (effects: Effects) => Promise<Shown>) => Promise<void>;

const producer = { name: 'stillmark', version };
/** Archives and snapshots may come from anybody: what they say must not reach the terminal as commands. */
const plain = (line: string): string => visible(line.replaceAll('\u202f', ' '));

/** `archive`, `restore` and `compare`: what is done with snapshots that stand. */
export function addArchiveCommands(add: Add, perform: Perform): void {
  add(
    'archive',
    'put a project and its site into one file',
    'Writes a BagIt bag (RFC 8493) with the site, the project file, what was\ncommitted and the delivered files, as NAME.zip (compressed, up to 4 GB) or\nNAME.tar. The same project and site give the same bytes on every machine.\nRefuses a site that is not whole or not that of the project as it stands, and\na file that stands there already.',
  )
    .argument('<project>', 'project folder, with project.yaml')
    .requiredOption('--site <dir>', 'its site, written by `stillmark snapshot`')
    .requiredOption('--out <file>', 'file to write, NAME.zip or NAME.tar')
    .addOption(
      new Option('--inputs <what>', 'delivered files, or their hashes alone')
        .choices(['files', 'hashes'])
        .default('files'),
    )
    .option('--store', 'take the store along, which can be built again from the delivered files')
    .action((folder: string, o: Omit<ArchiveTask, 'store'> & { store?: boolean; json?: boolean }) =>
      perform(o.json, (effects) => archiveWork(folder, { ...o, store: o.store === true }, effects)),
    );

  add(
    'restore',
    'check an archive and write its project and site',
    'Checks every hash first, and writes DIR/project and DIR/site whole or not at\nall. `stillmark ingest` and `stillmark snapshot` of the same version then give\nthe same site again. `stillmark verify FILE` checks and writes nothing.',
  )
    .argument('<file>', 'file written by `stillmark archive`')
    .requiredOption('--out <dir>', 'folder to write, which does not exist yet or is empty')
    .action((file: string, { out, json }: { out: string; json?: boolean }) =>
      perform(json, async (effects) => {
        const { problems, ...restored } = await restore(file, out, effects);
        const lines = restoreSentences(restored, { out, version: `${producer.name} ${version}` });
        return { lines: lines.map(plain), data: { out, ...restored }, problems };
      }),
    );

  add(
    'compare',
    'tell what differs between two snapshots',
    'States and sizes of stations, levels, bases in doubt, doubts, configuration\nand inputs: what B states, told against A. Every number is in the JSON.',
  )
    .argument('<a>', 'folder written by `stillmark snapshot`, or its snapshot.json')
    .argument('<b>', 'the same of the other snapshot')
    .action((a: string, b: string, { json }: { json?: boolean }) =>
      perform(json, (effects) => compareWork(a, b, effects)),
    );
}

async function archiveWork(folder: string, task: ArchiveTask, effects: Effects): Promise<Shown> {
  const { site, out, inputs, store } = task;
  const { problems, ...archived } = await archive(folder, { site, out, inputs, store }, producer, effects);
  return { lines: archiveSentences(archived, task).map(plain), data: { out, ...archived }, problems };
}

async function compareWork(a: string, b: string, effects: Effects): Promise<Shown> {
  const { comparison, timeZone } = await compare(a, b, effects);
  const clock = new ZoneClock(timeZone);
  const sections = comparisonSections(comparison, clock);
  const told = sections.flatMap(({ title, sentences }) => [
    '',
    `${title}:`,
    ...sentences.map((s) => `  ${s}`),
  ]);
  const lines = [
    ...comparisonHead(comparison, clock),
    ...(sections.length > 0 ? told : ['Nothing that is compared differs.']),
    '',
    comparisonLimits(),
  ];
  return { lines: lines.map(plain), data: { comparison } };
}
