import { catalogue, type ProblemCode } from './catalogue.ts';

/** A place in a file the user wrote. Lines and columns count from 1. */
export interface Location {
  readonly file: string;
  readonly line?: number;
  readonly column?: number;
}

/** One thing that is wrong (`error`) or doubtful (`warning`), told to the person who must mend it. */
export interface Problem {
  readonly code: ProblemCode;
  readonly severity: 'error' | 'warning';
  /** What is wrong. Never holds the position: that is in `at`. */
  readonly message: string;
  /** What would be right. */
  readonly hint?: string;
  readonly at?: Location;
  /** The value as it was found. */
  readonly seen?: string;
  /** The values or the range that are accepted. */
  readonly allowed?: readonly string[];
  /** The line of the file, for the pointer under it. */
  readonly sourceLine?: string;
}

/** What a problem says beside its code, severity and message. */
type Details = Omit<Problem, 'code' | 'severity' | 'message'>;

/** Thrown where work cannot go on; carries every problem found, not the first only. */
export class ProblemError extends Error {
  override readonly name = 'ProblemError';
  readonly problems: readonly Problem[];

  constructor(problems: readonly Problem[]) {
    super(problems.map((p) => p.message).join('; '));
    this.problems = problems;
  }
}

/** An error problem; `warning` makes the milder kind. */
export function problem(code: ProblemCode, message: string, more: Details = {}): Problem {
  return { code, severity: 'error', message, ...more };
}

export function warning(code: ProblemCode, message: string, more: Details = {}): Problem {
  return { code, severity: 'warning', message, ...more };
}

/** Throws a {@link ProblemError} with a single problem. */
export function fail(code: ProblemCode, message: string, more: Details = {}): never {
  throw new ProblemError([problem(code, message, more)]);
}

export function hasErrors(problems: readonly Problem[]): boolean {
  return problems.some((p) => p.severity === 'error');
}

/** Exit code of a command that ends with these problems: 0 without errors, else the gravest of the catalogue. */
export function exitCode(problems: readonly Problem[]): 0 | 1 | 2 {
  let code: 0 | 1 | 2 = 0;
  for (const p of problems) {
    if (p.severity === 'error') code = Math.max(code, catalogue[p.code].exit) as 0 | 1 | 2;
  }
  return code;
}
