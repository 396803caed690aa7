import { release, type Effects } from '@stillmark/pipeline';
import type { Command } from 'commander';
import { instantOption } from './options.ts';
import { builtRenderer } from './renderer.ts';

export const releaseDetails = `Freezes what the snapshot states in PROJECT/releases, without what \`release.hide\` of
project.yaml leaves out, and appends who approved it and when to releases.yaml. The
released site (--out here, or \`snapshot --released\`) shows what was approved last, and
says so where newer data are not approved.`;

export interface ReleaseOptions {
  readonly site: string;
  readonly by: string;
  readonly at?: number;
  readonly comment?: string;
  readonly out?: string;
  readonly json?: boolean;
}

export function addReleaseOptions(command: Command): Command {
  return command
    .argument('<project>', 'project folder, with project.yaml')
    .requiredOption('--site <dir>', 'the snapshot that is approved')
    .requiredOption('--by <person>', 'who approves it')
    .option('--at <time>', 'when it was approved (default: now)', instantOption)
    .option('--comment <text>', 'what they say of it, shown on the released site')
    .option('--out <dir>', 'write the released site to this folder at once');
}

export async function releaseWork(
  folder: string,
  { site, by, at, comment, out }: ReleaseOptions,
  nowMs: number,
  effects: Effects,
): Promise<{ lines: string[]; data: object }> {
  const task = {
    site,
    by,
    atMs: at ?? nowMs,
    ...(comment === undefined ? {} : { comment }),
    ...(out === undefined ? {} : { out }),
  };
  const { release: entry, record } = await release(folder, task, await builtRenderer(), effects);
  return {
    lines: [
      `released: the statements as of ${entry.asOf}, approved by ${entry.by}`,
      record.headline.replaceAll('\u202f', ' '),
      ...(out === undefined ? [] : [`The released site is in ${out}`]),
    ],
    data: { release: entry, record },
  };
}
