import { publish, type Effects, type PublishTask, type SnapshotTask } from '@stillmark/pipeline';
import type { Problem } from '@stillmark/problems';
import { publishedSentence, retentionSentence } from '@stillmark/wording';
import { Option, type Command } from 'commander';
import { wholeOption } from './options.ts';
import { builtRenderer } from './renderer.ts';
import { runCommand } from './run-command.ts';

export const publishDetails = `Verifies the snapshot, copies it to DIR/versions/TIME-HASH and lets the link DIR/latest
lead to it, in one step: a reader sees a whole snapshot at any moment, and a command
that was stopped is completed by the next. DIR/versions/index.html and versions.json
list what is published. The same snapshot again changes nothing. Old versions are
taken away only where --keep or --keep-days says so: never the latest or the newest,
and none that is not as it was published.`;

export interface PublishOptions {
  readonly to: string;
  readonly keep?: number;
  readonly keepDays?: number;
  readonly despite?: string;
  readonly json?: boolean;
}

export function addPublishOptions(command: Command): Command {
  return command
    .argument('<site>', 'folder written by `stillmark snapshot`')
    .requiredOption('--to <dir>', 'folder that a web host serves; it holds latest and versions')
    .addOption(
      new Option('--keep <number>', 'keep so many of the newest versions (default: all)')
        .argParser(wholeOption(1, 1_000_000))
        .conflicts('keepDays'),
    )
    .option(
      '--keep-days <days>',
      'keep the versions of so many days before the newest as-of time',
      wholeOption(1, 100_000),
    )
    .option(
      '--despite <reason>',
      'publish in the place of what is later, or of another project; the history tells the reason',
    );
}

export async function publishWork(
  site: string,
  { to, keep, keepDays, despite }: PublishOptions,
  effects: Effects,
): Promise<{ lines: string[]; data: object; problems: readonly Problem[] }> {
  const task: PublishTask = {
    site,
    to,
    ...(keep !== undefined
      ? { keep: { versions: keep } }
      : keepDays === undefined
        ? {}
        : { keep: { days: keepDays } }),
    ...(despite === undefined ? {} : { despite }),
  };
  const { problems, ...result } = await publish(task, await builtRenderer(), effects);
  const { version, kept, removed } = result;
  return {
    lines: [
      // Of a snapshot that came from elsewhere nothing but text may reach the terminal.
      version.headline.replaceAll(/[\p{Cc}\p{Cf}\u202f]/gu, ' '),
      publishedSentence(version, result),
      retentionSentence(kept, removed),
    ],
    data: result,
    problems,
  };
}

/** Seconds that a command has to tell what changed, unless said. */
const notifySeconds = 60;

export interface NotifyOptions {
  readonly notify?: string;
  readonly notifyLimit?: number;
}

export function addNotifyOptions(command: Command): Command {
  return command
    .option(
      '--notify <command>',
      'run this command where the state of a trigger, station or base changed; it reads the changes as JSON',
    )
    .option(
      '--notify-limit <seconds>',
      `time that the command has (default: ${notifySeconds})`,
      wholeOption(1, 3600),
    );
}

/** Who is told of changes, for the task of a snapshot. */
export function notifyTask(
  { notify, notifyLimit = notifySeconds }: NotifyOptions,
  say: (text: string) => void,
): Pick<SnapshotTask, 'tell'> {
  if (notify === undefined) return {};
  return { tell: (notice) => runCommand(notify, notice, notifyLimit * 1000, say) };
}
