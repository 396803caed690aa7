import { spawn } from 'node:child_process';
import { mkdtemp, rm, stat } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import { browsers, verify, type Effects } from '@stillmark/pipeline';
import { fail, problem, ProblemError } from '@stillmark/problems';
import { Option, type Command } from 'commander';
import { browserAtHand } from './browser-at-hand.ts';

export const reportDetails = `The site carries its report as report.html, which any browser prints. This command has a
Chromium do it: the one of --chromium or CHROMIUM_PATH, or the first in the path
that \`stillmark doctor\` finds. The site is verified first; FILE is written
whole or not at all.`;

export interface ReportOptions {
  readonly pdf: string;
  readonly paper: 'a4' | 'letter';
  readonly chromium?: string;
  readonly json?: boolean;
}

/** A long report of many stations is printed in seconds; what takes longer hangs. */
const limitMs = 180_000;

export function addReportOptions(command: Command): Command {
  return command
    .argument('<dir>', 'folder written by `stillmark snapshot`')
    .requiredOption('--pdf <file>', 'file to write')
    .addOption(new Option('--paper <size>', 'size of the paper').choices(['a4', 'letter']).default('a4'))
    .option('--chromium <program>', 'the Chromium that prints');
}

/**
 * @throws USE_OPTION where no Chromium is at hand, REPORT_NOT_PRINTED where it does not print, and what `verify` says of the site
 */
export async function reportWork(
  site: string,
  { pdf, paper, chromium }: ReportOptions,
  effects: Effects,
): Promise<{ lines: string[]; data: object; problems?: Awaited<ReturnType<typeof verify>>['problems'] }> {
  const { problems } = await verify(site, effects);
  if (problems.length > 0) return { lines: [], data: {}, problems };
  const program = chromium ?? process.env['CHROMIUM_PATH'] ?? (await browserAtHand(browsers));
  if (program === undefined)
    return fail('USE_OPTION', 'no Chromium is at hand', {
      hint: '--chromium PROGRAM, or print report.html from a browser',
    });
  const scratch = await mkdtemp(join(tmpdir(), 'stillmark-report-'));
  try {
    const printed = join(scratch, 'report.pdf');
    const page = pathToFileURL(resolve(site, 'report.html'));
    page.searchParams.set('paper', paper);
    effects.progress('printing');
    const said = await print(program, [
      '--headless',
      '--disable-gpu',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
      '--no-first-run',
      // Chromium has no sandbox for the superuser.
      ...(process.getuid?.() === 0 ? ['--no-sandbox'] : []),
      `--user-data-dir=${join(scratch, 'profile')}`,
      '--no-pdf-header-footer',
      `--print-to-pdf=${printed}`,
      page.href,
    ]);
    const size = await stat(printed).then(
      (s) => s.size,
      () => 0,
    );
    if (size === 0)
      return fail('REPORT_NOT_PRINTED', `${program} printed nothing: ${said.slice(-400).trim()}`, {
        hint: 'another --chromium, or print report.html from a browser',
      });
    await effects.files.write(resolve(pdf), (await effects.files.read(printed))!);
    return {
      lines: [`printed ${pdf}: ${(size / 1024).toFixed(0)} KiB`],
      data: { file: pdf, bytes: size, paper, chromium: program },
    };
  } finally {
    await rm(scratch, { recursive: true, force: true, maxRetries: 5 });
  }
}

/** What the program said, when it has ended. */
function print(program: string, args: readonly string[]): Promise<string> {
  return new Promise((done, refuse) => {
    const child = spawn(program, args, { stdio: ['ignore', 'ignore', 'pipe'] });
    const limit = setTimeout(() => child.kill('SIGKILL'), limitMs);
    let said = '';
    child.stderr.setEncoding('utf8').on('data', (text: string) => (said += text));
    child.on('error', (error: NodeJS.ErrnoException) => {
      clearTimeout(limit);
      refuse(
        new ProblemError([
          problem('USE_OPTION', `${program} cannot be run: ${error.code ?? error.message}`, {
            hint: '--chromium PROGRAM',
          }),
        ]),
      );
    });
    child.on('close', () => {
      clearTimeout(limit);
      done(said);
    });
  });
}
