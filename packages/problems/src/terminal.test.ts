import { expect, test } from 'vitest';
import { exitCode, formatProblem, formatProblems, problem, warning } from './index.ts';

test('a problem shows place, code, message, the line with a pointer, and what would be right', () => {
  const text = formatProblem(
    problem('PROJECT_VALUE', "role 'monitor' is not known", {
      at: { file: 'project.yaml', line: 12, column: 11 },
      sourceLine: '    role: monitor',
      allowed: ['base', 'monitoring'],
    }),
  );
  expect(text).toBe(
    [
      'project.yaml:12:11 error PROJECT_VALUE',
      "  role 'monitor' is not known",
      '  12 |     role: monitor',
      '     |           ^',
      '  would be right: base or monitoring',
    ].join('\n'),
  );
});

test('the pointer stays under its character in a line that is too long to show whole', () => {
  const sourceLine = `${'a'.repeat(300)}!${'b'.repeat(300)}`;
  const text = formatProblem(
    problem('INPUT_ROW', 'x', { at: { file: 'f.csv', line: 2, column: 301 }, sourceLine }),
  );
  const [, , shown, pointer] = text.split('\n');
  expect(shown!.length).toBeLessThan(110);
  expect(shown![pointer!.indexOf('^')]).toBe('!');
});

test('control characters and direction overrides from a file do not reach the terminal', () => {
  const text = formatProblem(problem('INPUT_ROW', 'station \u001b[2J\u202eevil'));
  expect(text).toContain('\\u001b[2J\\u202eevil');
});

test('errors come before warnings, and each in the order of the file', () => {
  const at = (line: number) => ({ at: { file: 'project.yaml', line, column: 1 } });
  const text = formatProblems([
    warning('PROJECT_VALUE', 'third', at(1)),
    problem('PROJECT_VALUE', 'second', at(9)),
    problem('PROJECT_KEY', 'first', at(3)),
  ]);
  expect(text.match(/first|second|third/g)).toEqual(['first', 'second', 'third']);
});

test('the exit code is the gravest among the errors; warnings alone do not fail', () => {
  expect(exitCode([])).toBe(0);
  expect(exitCode([warning('INPUT_ROW', 'w')])).toBe(0);
  expect(exitCode([problem('INPUT_ROW', 'e')])).toBe(1);
  expect(exitCode([problem('INPUT_ROW', 'e'), problem('USE_FOLDER_MISSING', 'e')])).toBe(2);
});
