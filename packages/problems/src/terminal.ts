import type { Problem } from './problem.ts';

/**
 * A problem as text for a terminal:
 *
 * ```
 * project.yaml:12:11 error PROJECT_VALUE
 *   role 'monitor' is not known
 *   12 |     role: monitor
 *      |           ^
 *   would be right: base or monitoring
 * ```
 *
 * Control characters from files are shown, not sent to the terminal.
 */
export function formatProblem(p: Problem): string {
  const lines = [`${formatLocation(p)}${p.severity} ${p.code}`, `  ${visible(p.message)}`];
  if (p.at?.line !== undefined && p.sourceLine !== undefined) {
    const { text, column } = clip(visible(p.sourceLine), p.at.column);
    const number = String(p.at.line);
    lines.push(`  ${number} | ${text}`);
    if (column !== undefined) lines.push(`  ${' '.repeat(number.length)} | ${' '.repeat(column - 1)}^`);
  }
  const right = p.hint ?? (p.allowed ? listAllowed(p.allowed) : undefined);
  if (right !== undefined) lines.push(`  would be right: ${visible(right)}`);
  return lines.join('\n');
}

/** All problems, errors first, each kind in the order of file and line. */
export function formatProblems(problems: readonly Problem[]): string {
  return sortProblems(problems).map(formatProblem).join('\n\n');
}

export function sortProblems(problems: readonly Problem[]): Problem[] {
  return problems
    .map((p, index) => ({ p, index }))
    .sort(
      (a, b) =>
        Number(a.p.severity === 'warning') - Number(b.p.severity === 'warning') ||
        compareText(a.p.at?.file ?? '', b.p.at?.file ?? '') ||
        (a.p.at?.line ?? 0) - (b.p.at?.line ?? 0) ||
        (a.p.at?.column ?? 0) - (b.p.at?.column ?? 0) ||
        a.index - b.index,
    )
    .map(({ p }) => p);
}

/** Values in a sentence: `base or monitoring`. */
export function listAllowed(allowed: readonly string[]): string {
  if (allowed.length <= 1) return allowed.join('');
  return `${allowed.slice(0, -1).join(', ')} or ${allowed.at(-1)}`;
}

function formatLocation({ at }: Problem): string {
  if (!at) return '';
  const line = at.line === undefined ? '' : `:${at.line}${at.column === undefined ? '' : `:${at.column}`}`;
  return `${visible(at.file)}${line} `;
}

/** Text from a file without what a terminal would obey: control characters and marks of direction are shown as escapes. */
export function visible(text: string): string {
  // eslint-disable-next-line no-control-regex
  return text.replace(/[\u0000-\u001f\u007f-\u009f\u202a-\u202e\u2066-\u2069]/g, (c) =>
    c === '\t' ? ' ' : `\\u${c.charCodeAt(0).toString(16).padStart(4, '0')}`,
  );
}

const clippedWidth = 96;

function clip(text: string, column: number | undefined): { text: string; column: number | undefined } {
  if (text.length <= clippedWidth) return { text, column };
  const from = Math.max(0, Math.min((column ?? 1) - 1 - clippedWidth / 2, text.length - clippedWidth));
  const start = from > 0 ? '…' : '';
  const end = from + clippedWidth < text.length ? '…' : '';
  const shown = `${start}${text.slice(from, from + clippedWidth)}${end}`;
  return { text: shown, column: column === undefined ? undefined : column - from + start.length };
}

function compareText(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}
