import {
  exitCode,
  formatProblems,
  hasErrors,
  ProblemError,
  sortProblems,
  type Problem,
} from '@stillmark/problems';

/** Where a command speaks: results to `out`, progress and problems to `err`. */
export interface Terminal {
  readonly out: (text: string) => void;
  readonly err: (text: string) => void;
  readonly json: boolean;
}

/** As many problems are printed as can be read; all of them are in the JSON. */
const mostPrinted = 12;

/** Prints a result with its problems and gives the exit code. */
export function report(
  terminal: Terminal,
  result: {
    readonly lines: readonly string[];
    readonly data: object;
    readonly problems?: readonly Problem[];
  },
): number {
  const problems = sortProblems(result.problems ?? []);
  const code = exitCode(problems);
  if (terminal.json) {
    terminal.out(
      `${JSON.stringify({ ok: code === 0, exit: code, ...result.data, problems }, undefined, 1)}\n`,
    );
    return code;
  }
  if (problems.length > 0) {
    const shown = problems.slice(0, mostPrinted);
    const rest = problems.length - shown.length;
    terminal.err(`${formatProblems(shown)}\n${rest > 0 ? `\nand ${rest} more\n` : ''}\n`);
  }
  if (result.lines.length > 0) terminal.out(`${result.lines.join('\n')}\n`);
  return code;
}

/** What an error means to the person who called: a problem of theirs, or a bug of ours (70). */
export function reportError(terminal: Terminal, error: unknown, version: string): number {
  if (error instanceof ProblemError && hasErrors(error.problems))
    return report(terminal, { lines: [], data: {}, problems: error.problems });
  if (isDiskError(error)) {
    const message = `the disk says no: ${error.message}`;
    if (terminal.json)
      terminal.out(`${JSON.stringify({ ok: false, exit: 1, error: message }, undefined, 1)}\n`);
    else terminal.err(`error ${message}\n`);
    return 1;
  }
  const text = error instanceof Error ? (error.stack ?? error.message) : String(error);
  const home = process.env['HOME'];
  const clean = [process.cwd(), ...(home ? [home] : [])].reduce(
    (t, path) => (path.length > 1 ? t.replaceAll(path, '<folder>') : t),
    text,
  );
  if (terminal.json) terminal.out(`${JSON.stringify({ ok: false, exit: 70, bug: clean }, undefined, 1)}\n`);
  else
    terminal.err(
      `This is a bug in stillmark ${version}, not a mistake of yours. Nothing that stood before was changed.\nPlease report these lines:\n\n${clean}\n`,
    );
  return 70;
}

/** What a disk answers to a path or a right that is not as it should be, or when it is full. */
const diskCodes = new Set([
  'EACCES',
  'EPERM',
  'ENOSPC',
  'EFBIG',
  'EIO',
  'EROFS',
  'EDQUOT',
  'EMFILE',
  'EEXIST',
  'ENOTDIR',
  'EISDIR',
  'ENAMETOOLONG',
  'ELOOP',
]);

function isDiskError(error: unknown): error is NodeJS.ErrnoException {
  return error instanceof Error && diskCodes.has((error as NodeJS.ErrnoException).code ?? '');
}
