import { availableParallelism } from 'node:os';
import { Argument, Command, CommanderError, type OutputConfiguration } from 'commander';
import {
  alarmLoad,
  check,
  commit,
  commitResponse,
  ingest,
  nodeFiles,
  portfolio,
  projectJsonSchema,
  projectManual,
  snapshot,
  Threads,
  transitionsJsonSchema,
  verify,
  versionsJsonSchema,
  type CommitTask,
  type Effects,
  type IngestResult,
} from '@stillmark/pipeline';
import {
  headlineSentence,
  loadBasisSentence,
  loadQuantity,
  loadSentences,
  requirementSentence,
} from '@stillmark/wording';
import { addArchiveCommands } from './archive-commands.ts';
import { addBenchOptions, benchDetails, benchWork, type BenchOptions } from './bench-command.ts';
import { addInitOptions, initDetails, initWork, planWork, type InitOptions } from './plan-commands.ts';
import { addReleaseOptions, releaseDetails, releaseWork, type ReleaseOptions } from './release-command.ts';
import { addReportOptions, reportDetails, reportWork, type ReportOptions } from './report-command.ts';
import { codeHash } from './code-hash.ts';
import { completionDetails, completionScript, shells, type Shell } from './completion.ts';
import { addDoctorOptions, doctorDetails, doctorWork } from './doctor-command.ts';
import { refuseAddresses } from './on-disk.ts';
import { addressOption, instantOption, storeOption } from './options.ts';
import {
  addNotifyOptions,
  addPublishOptions,
  notifyTask,
  publishDetails,
  publishWork,
  type NotifyOptions,
  type PublishOptions,
} from './publish-commands.ts';
import { builtRenderer } from './renderer.ts';
import { report, reportError, type Terminal } from './report.ts';
import {
  addTransformOptions,
  transformDetails,
  transformWork,
  type TransformOptions,
} from './transform-command.ts';
import { version } from './version.ts';
import { addWordsOptions, wordsDetails, wordsWork, type WordsOptions } from './words-command.ts';
import { workspacesDetails, workspacesWork } from './workspaces-command.ts';

/** How the command meets the world; tests pass their own. */
export interface World {
  readonly out: (text: string) => void;
  readonly err: (text: string) => void;
  /** True where progress may be written over itself. */
  readonly interactive: boolean;
  readonly nowMs: () => number;
  /** Lines of the standard input, and whether a person types them. */
  readonly input: { readonly terminal: boolean; readonly lines: () => AsyncIterator<string> };
}

interface SnapshotOptions {
  readonly out: string;
  readonly asOf?: number;
  readonly storeAt?: string;
  readonly anew?: boolean;
  readonly since?: string;
  readonly released?: string;
  readonly singleFile?: string;
  readonly address?: string;
  readonly json?: boolean;
}

const exitCodes = `
Exit codes: 0 fine, 1 the project or its data say no, 2 wrong use, 70 a bug of ours.`;

/** Runs one command line and gives its exit code. */
export async function run(args: readonly string[], world: World): Promise<number> {
  let code = 0;
  const program = build(world, (result) => (code = result));
  try {
    await program.parseAsync(args, { from: 'user' });
    return code;
  } catch (error) {
    if (error instanceof CommanderError) return error.exitCode === 0 ? 0 : 2;
    throw error;
  }
}

const storeAtOption = [
  '--store-at <address>',
  'where the store stands, such as s3://bucket/dam/store (default: in the project folder, or where it stood last)',
  storeOption,
] as const;

function build(world: World, done: (code: number) => void): Command {
  const output: OutputConfiguration = {
    writeOut: world.out,
    writeErr: world.err,
    outputError: (text, write) => write(text),
  };
  const program = new Command('stillmark')
    .description(
      'Renders the state of a GNSS deformation-monitoring network as a static site:\nhow far each station has moved, and how sure that is.',
    )
    .version(version, '--version', 'print the version')
    .configureOutput(output)
    .exitOverride()
    .showSuggestionAfterError()
    .addHelpText('after', exitCodes)
    .helpCommand('help [command]', 'print the help of a command')
    .hook('preAction', (_, command) => refuseAddresses(command));

  /** A command with what all commands share; `work` gives lines to print, data for --json, and problems. */
  const add = (name: string, summary: string, details: string): Command =>
    program
      .command(name)
      .summary(summary)
      .description(`${summary.charAt(0).toUpperCase()}${summary.slice(1)}.\n\n${details}`)
      .option('--json', 'print the result as JSON')
      .addHelpText('after', exitCodes)
      .configureOutput(output)
      .exitOverride();
  type Work = (effects: Effects) => Promise<Parameters<typeof report>[1]>;
  const perform = async (json: boolean | undefined, work: Work): Promise<void> => {
    const terminal: Terminal = { out: world.out, err: world.err, json: json === true };
    const progress = progressOf(world, terminal);
    const threads = new Threads(new URL('./station-worker.js', import.meta.url), availableParallelism());
    try {
      const result = await work({
        files: nodeFiles,
        progress: progress.say,
        nowMs: world.nowMs,
        threads,
      });
      progress.clear();
      done(report(terminal, result));
    } catch (error) {
      progress.clear();
      done(reportError(terminal, error, version));
    } finally {
      await threads.end();
    }
  };

  /** A command that goes through all delivered files. */
  const addReader = (
    name: string,
    summary: string,
    details: string,
    work: typeof ingest,
    verb: string,
  ): Command =>
    add(name, summary, details)
      .argument('<project>', 'project folder, with project.yaml')
      .action((folder: string, { json, storeAt }: { json?: boolean; storeAt?: string }) =>
        perform(json, async (effects) => {
          const result = await work(folder, effects, storeAt);
          return { lines: fileLines(result, verb), data: { files: result.files }, problems: result.problems };
        }),
      );

  addInitOptions(add('init', 'write the project file of a new network', initDetails)).action(
    (folder: string, { json, ...o }: InitOptions & { json?: boolean }) =>
      perform(json, (effects) => {
        const { terminal, lines } = world.input;
        return initWork(folder, o, effects, { terminal, say: world.err, lines: lines() });
      }),
  );

  addReader(
    'check',
    'read the project and its positions and report every problem',
    'Writes nothing.',
    check,
    'checked',
  );
  addReader(
    'ingest',
    'add delivered positions to the store',
    'The same file twice changes nothing. Rows that cannot be read are listed in\nstore/rejects; everything else goes in.',
    ingest,
    'ingested',
  ).option(...storeAtOption);

  /** A command that commits something of stations from a span of time. */
  const addCommit = <T extends { readonly station: string; readonly stream: string }>(
    name: string,
    [summary, details]: readonly [string, string],
    [from, to]: readonly [string, string],
    work: (folder: string, task: CommitTask, effects: Effects) => Promise<T[]>,
    say: (entry: T) => string,
  ): Command =>
    add(name, summary, details)
      .argument('<project>', 'project folder, with project.yaml')
      .argument('<station...>', 'ids of the stations')
      .requiredOption('--from <time>', from, instantOption)
      .requiredOption('--to <time>', to, instantOption)
      .requiredOption('--by <person>', 'who commits')
      .option('--at <time>', 'when the commitment was made (default: now)', instantOption)
      .option('--despite <reason>', 'commit what is not ready; the reason is recorded and shown')
      .action(
        (
          folder: string,
          stations: string[],
          o: { from: number; to: number; by: string; at?: number; despite?: string; json?: boolean },
        ) =>
          perform(o.json, async (effects) => {
            const task = {
              stations,
              fromMs: o.from,
              toMs: o.to,
              by: o.by,
              committedMs: o.at ?? world.nowMs(),
              ...(o.despite === undefined ? {} : { despite: o.despite }),
            };
            const committed = await work(folder, task, effects);
            return {
              lines: committed.map(
                (entry) => `${entry.station} in stream ${entry.stream}: committed ${say(entry)}`,
              ),
              data: { committed },
            };
          }),
      );

  addCommit(
    'commit',
    [
      'commit the reference positions of stations',
      'Appends to reference-positions.yaml the mean of the reference period, in every\nstream that sees the stations, who committed it, when, and the evidence. Refuses\na period that is not ready; of several stations all are committed or none.',
    ],
    ['begin of the reference period', 'end of the reference period'],
    commit,
    ({ evidence: { windows, expectedWindows, epochs } }) =>
      `from ${windows} of ${expectedWindows} windows, ${epochs} epochs`,
  );

  addCommit(
    'commit-response',
    [
      'commit what temperature, water and other logs do to stations',
      'Learns the response of the stations to the logs that project.yaml names, from a\nspan of time, and appends it to response-models.yaml, frozen: later movement\ncannot pass for response. Refuses a span from which the two cannot be told apart.',
    ],
    ['begin of the span from which it is learnt', 'end of that span'],
    commitResponse,
    ({ model }) =>
      `from ${model.means} means, ${model.logs.map(({ what, lag_h }) => (lag_h === 0 ? what : `${what} ${lag_h} h before`)).join(', ')}`,
  );

  addNotifyOptions(
    add(
      'snapshot',
      'compute the state of the project and write its site',
      'Writes DIR whole or not at all; an earlier snapshot there is replaced. Open\nDIR/index.html, or put DIR on any web host. What was computed from the same data\nbefore is taken from store/computed, which may be deleted at any time.\n\nA command given by --notify runs once the site is written, where a state differs from\nwhat stood in DIR before. Where it fails the site stays, the exit code is 1, and the\nnext snapshot with --notify tells the changes again.',
    ),
  )
    .argument('<project>', 'project folder, with project.yaml')
    .requiredOption('--out <dir>', 'folder to write')
    .option(
      '--as-of <time>',
      'state from all epochs up to this time (default: the newest epoch)',
      instantOption,
    )
    .option(...storeAtOption)
    .option('--since <dir>', 'an earlier snapshot: the site then has a page of what has changed since')
    .option('--released <dir>', 'folder of the released site: what was approved last by `stillmark release`')
    .option('--single-file <file>', 'write the overview with everything in it to a file of its own, too')
    .option('--address <url>', 'where the site will stand: links of that file lead there', addressOption)
    .option('--anew', 'compute everything anew, also what was computed from the same data before')
    .action(
      (
        folder: string,
        {
          out,
          asOf,
          storeAt,
          anew,
          since,
          released,
          singleFile,
          address,
          json,
          ...notify
        }: SnapshotOptions & NotifyOptions,
      ) =>
        perform(json, async (plain) => {
          const effects = anew ? plain : { ...plain, memory: { code: await codeHash() } };
          const task = {
            out,
            ...(asOf === undefined ? {} : { asOfMs: asOf }),
            ...(storeAt === undefined ? {} : { storeAt }),
            ...(since === undefined ? {} : { since }),
            ...(released === undefined ? {} : { released }),
            ...(singleFile === undefined ? {} : { single: { file: singleFile, address } }),
            ...notifyTask(notify, world.err),
          };
          const result = await snapshot(
            folder,
            task,
            await builtRenderer(),
            { name: 'stillmark', version },
            effects,
          );
          const { headline, asOf: stated, validUntil, doubts } = result.snapshot;
          return {
            lines: [
              headlineSentence(result.snapshot).replaceAll('\u202f', ' '),
              ...doubts.map((doubt) => `Doubt: ${doubt.message}.`),
              ...(result.words
                ? [
                    `In ${result.words.language}: ${result.words.translated} of ${result.words.messages} messages are translated, the rest is English.`,
                  ]
                : []),
              `As of ${stated}, valid until ${validUntil}. ${result.files} files, ${(result.bytes / 1024).toFixed(0)} KiB in ${out}`,
            ],
            data: {
              out,
              asOf: stated,
              validUntil,
              headline,
              doubts,
              files: result.files,
              bytes: result.bytes,
              ...(result.told ? { told: result.told } : {}),
              ...(result.words ? { words: result.words } : {}),
            },
            problems: result.problems,
          };
        }),
    );

  add(
    'plan',
    'tell what follows from the plan of a project',
    'The start, how small a movement will be found, where stations stand, what is lost if\none thing fails, what antennas see, power and data. Before any position, too;\n`stillmark snapshot --as-of DATE` makes the site of it.',
  )
    .argument('<project>', 'project folder, with project.yaml')
    .action((folder: string, { json }: { json?: boolean }) =>
      perform(json, async (plain) => planWork(folder, { ...plain, memory: { code: await codeHash() } })),
    );

  add(
    'alarm-load',
    'tell how often levels would alarm by mistake, and how late in earnest',
    'Tries the candidates of alarmLoad in project.yaml by simulation, on the noise of the\nstations, or on assumedNoise where none is measured yet, and recommends the cheapest\nthat meets what is asked. Every candidate is in the JSON.',
  )
    .argument('<project>', 'project folder, with project.yaml')
    .action((folder: string, { json }: { json?: boolean }) =>
      perform(json, async (effects) => {
        const { project, loads } = await alarmLoad(folder, effects);
        const lines = loads.flatMap((load) => [
          `${loadQuantity(load, project)}: ${requirementSentence(load)}`,
          ...loadSentences(load),
          loadBasisSentence(load),
        ]);
        return { lines: lines.map((line) => line.replaceAll('\u202f', ' ')), data: { loads } };
      }),
    );

  add(
    'portfolio',
    'write one page over the sites of several projects',
    'Of each project what its newest snapshot says first, with a link to its site as it\nlies beside the page; the order is that of the sites. Writes DIR whole or not at all.',
  )
    .argument('<site...>', 'folders written by `stillmark snapshot`')
    .requiredOption('--out <dir>', 'folder to write')
    .option('--title <text>', 'title of the page', 'Projects')
    .action((sites: string[], { out, title, json }: { out: string; title: string; json?: boolean }) =>
      perform(json, async (effects) => {
        const record = await portfolio({ sites, out, title }, await builtRenderer(), effects);
        return {
          lines: [`${record.projects.length} projects on ${out}/index.html`],
          data: { out, projects: record.projects },
        };
      }),
    );

  add('workspaces', 'let many projects be computed only where something changed', workspacesDetails)
    .argument('<dir>', 'folder that holds the folder projects')
    .action((folder: string, { json }: { json?: boolean }) =>
      perform(json, (effects) => workspacesWork(folder, effects)),
    );

  addReleaseOptions(add('release', 'approve a snapshot for the released site', releaseDetails)).action(
    (folder: string, o: ReleaseOptions) =>
      perform(o.json, (effects) => releaseWork(folder, o, world.nowMs(), effects)),
  );

  addWordsOptions(add('words', 'write a file for the translation of the site', wordsDetails)).action(
    (o: WordsOptions) => perform(o.json, (effects) => wordsWork(o, effects)),
  );

  addReportOptions(add('report', 'print the report of a site as PDF', reportDetails)).action(
    (site: string, o: ReportOptions) => perform(o.json, (effects) => reportWork(site, o, effects)),
  );

  addTransformOptions(
    add('transform', 'bring points to another frame, epoch or kind of coordinates', transformDetails),
  ).action((file: string | undefined, o: TransformOptions) =>
    perform(o.json, (effects) => transformWork(file, o, effects, world.err)),
  );

  addBenchOptions(add('bench', 'accept a receiver from measurements on a test field', benchDetails)).action(
    (file: string, o: BenchOptions) => perform(o.json, (effects) => benchWork(file, o, effects)),
  );

  const schemas = {
    project: projectJsonSchema,
    transitions: transitionsJsonSchema,
    versions: versionsJsonSchema,
  } as const;
  program
    .command('schema')
    .summary('print the JSON Schema of project.yaml, for editors')
    .description(
      'Print the JSON Schema of project.yaml, for editors.\n\nWith `stillmark schema > project.schema.json` and a first line\n`# yaml-language-server: $schema=project.schema.json` in project.yaml, editors\nthat know YAML offer keys, explain them and underline mistakes. Also that of what\n`snapshot --notify` tells, and of versions.json of `publish`.\n\nFor reading, --markdown prints every key of project.yaml with its unit, bounds and\ndefault, with examples; and those of the files that commands write beside it.',
    )
    .addArgument(new Argument('[of]', 'what it is of').choices(Object.keys(schemas)).default('project'))
    .option('--markdown', 'print the keys of project.yaml as a page to read')
    .addHelpText('after', exitCodes)
    .configureOutput(output)
    .exitOverride()
    .action((of: keyof typeof schemas, { markdown }: { markdown?: boolean }, command: Command) => {
      if (markdown && of !== 'project') command.error('error: --markdown is of project.yaml only');
      world.out(markdown ? projectManual() : `${JSON.stringify(schemas[of](), undefined, 1)}\n`);
    });

  add(
    'verify',
    'compare a snapshot with its manifest, byte by byte',
    'Tells every file that is changed, missing or added; of an archive too.',
  )
    .argument('<dir>', 'folder written by `stillmark snapshot`, or file by `stillmark archive`')
    .action((folder: string, { json }: { json?: boolean }) =>
      perform(json, async (effects) => {
        const result = await verify(folder, effects);
        const lines = result.problems.length === 0 ? [`${result.files} files as they were written`] : [];
        return { lines, data: { files: result.files }, problems: result.problems };
      }),
    );

  addArchiveCommands(add, perform);

  addPublishOptions(
    add('publish', 'put a snapshot beside earlier ones and let latest lead to it', publishDetails),
  ).action((site: string, o: PublishOptions) => perform(o.json, (effects) => publishWork(site, o, effects)));

  addDoctorOptions(
    add('doctor', 'look at the machine: what is fine, what is missing and how to get it', doctorDetails),
  ).action((folder: string | undefined, { json }: { json?: boolean }) =>
    perform(json, (effects) => doctorWork(folder, effects)),
  );

  program
    .command('completion')
    .summary('print a script that completes commands in a shell')
    .description(`Print a script that completes commands in a shell.\n\n${completionDetails}`)
    .addArgument(new Argument('<shell>', 'the shell').choices(shells))
    .addHelpText('after', exitCodes)
    .configureOutput(output)
    .exitOverride()
    .action((shell: Shell) => world.out(completionScript(program, shell)));

  return program;
}

function fileLines({ files }: IngestResult, verb: string): string[] {
  const plural = (n: number, what: string): string => `${n} ${what}${n === 1 ? '' : 's'}`;
  return files.map(({ file, rows, rejected, added, repeated }) => {
    const parts = added === undefined ? [plural(rows, 'epoch')] : [`${added} new`, `${repeated} repeated`];
    if (rejected > 0) parts.push(`${rejected} rejected`);
    return `${verb} ${file}: ${parts.join(', ')}`;
  });
}

/** Progress in one line that is written over; nothing where nobody watches. */
function progressOf(
  { err, interactive }: World,
  { json }: Terminal,
): { say: (message: string) => void; clear: () => void } {
  if (!interactive || json) return { say: () => {}, clear: () => {} };
  const wipe = '\r\u001b[K';
  return { say: (message) => err(`${wipe}${message.slice(0, 78)}`), clear: () => err(wipe) };
}
