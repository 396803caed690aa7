import { spawnSync } from 'node:child_process';
import { mkdtempSync, mkdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { mustRun, stillmark } from '../support/command.ts';

const scripts: Record<string, string> = {};
let folder: string;
beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'stillmark-completion-'));
  for (const shell of ['bash', 'zsh', 'fish']) {
    scripts[shell] = (await mustRun(['completion', shell])).out;
    writeFileSync(join(folder, shell), scripts[shell]);
  }
  mkdirSync(join(folder, 'my dam'));
  mkdirSync(join(folder, 'my slope'));
  writeFileSync(join(folder, 'my list.csv'), '');
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** What bash offers after the words of a command line, of which the last is being typed. */
function offered(...words: string[]): string[] {
  const script = `source "$1"; shift; COMP_WORDS=(stillmark "$@"); COMP_CWORD=$#; _stillmark; printf '%s\\n' "\${COMPREPLY[@]}"`;
  const { stdout, stderr } = spawnSync(
    '/bin/bash',
    ['--norc', '-c', script, 'bash', join(folder, 'bash'), ...words],
    {
      cwd: folder,
      encoding: 'utf8',
      env: { PATH: '/nowhere' },
    },
  );
  expect(stderr).toBe('');
  return stdout.split('\n').filter((line) => line !== '');
}

/** Commands by the help of the program. */
const commands = [...(await mustRun(['--help'])).out.matchAll(/^ {2}([a-z-]+) .*$/gm)]
  .map((m) => m[1]!)
  .filter((name) => !name.startsWith('-'));

const helps = new Map<string, string>();
for (const name of commands.filter((c) => c !== 'help'))
  helps.set(name, (await mustRun([name, '--help'])).out);

describe('in bash, without anything else installed', () => {
  test('commands', () => {
    expect(offered('')).toEqual([...commands, '--version', '--help']);
    expect(offered('pub')).toEqual(['publish']);
    expect(offered('commit')).toEqual(['commit', 'commit-response']);
    expect(offered('help', 'ver')).toEqual(['verify']);
    expect(offered('no-such-command', '')).toEqual([]);
  });

  test('options of a command, and their values', () => {
    expect(offered('publish', '--')).toEqual([
      '--json',
      '--to',
      '--keep',
      '--keep-days',
      '--despite',
      '--help',
    ]);
    expect(offered('publish', '-')).toContain('-h');
    expect(offered('publish', 'x', '--to', '')).toEqual(['my dam', 'my slope']);
    expect(offered('publish', 'x', '--to', '=', 'my s')).toEqual(['my slope']);
    expect(offered('snapshot', '--as-of', '')).toEqual([]);
    expect(offered('init', 'x', '--stations', 'my l')).toEqual(['my list.csv']);
  });

  test('arguments, whatever options stand before them', () => {
    expect(offered('verify', 'my')).toEqual(['my dam', 'my slope']);
    expect(offered('verify', '--json', 'my')).toEqual(['my dam', 'my slope']);
    expect(offered('verify', 'my dam', '')).toEqual([]);
    expect(offered('publish', '--to', 'my dam', 'my')).toEqual(['my dam', 'my slope']);
    expect(offered('publish', '--to', '=', 'my dam', 'my')).toEqual(['my dam', 'my slope']);
    expect(offered('bench', 'my')).toEqual(['my dam', 'my list.csv', 'my slope']);
    expect(offered('completion', '')).toEqual(['bash', 'zsh', 'fish']);
    expect(offered('commit', 'my dam', 'S')).toEqual([]);
  });

  test('what is typed is never run', () => {
    const mark = join(folder, 'mark');
    for (const word of [`$(touch ${mark})`, `\`touch ${mark}\``, `'; touch ${mark}; '`])
      for (const line of [[word], ['verify', word], ['publish', '--to', word], [word, word, '']])
        offered(...line);
    expect(spawnSync('ls', [mark]).status).not.toBe(0);
  });
});

describe.each(['bash', 'zsh', 'fish'])('the script for %s', (shell) => {
  test('names every command and every option that the help names', () => {
    for (const [name, out] of helps) {
      expect(scripts[shell]).toContain(name);
      for (const [, option] of out.matchAll(/^ {2}(?:-\w, )?--([a-z-]+)/gm))
        expect(scripts[shell], `${name} --${option}`).toMatch(new RegExp(shell === 'fish' ? `-l ${option}\\b` : `--${option}\\b`)); // prettier-ignore
    }
  });

  test.skipIf(spawnSync(shell, ['--version']).error !== undefined)('is read by it without a word', () => {
    const { status, stderr } = spawnSync(shell, ['-n', join(folder, shell)], { encoding: 'utf8' });
    expect({ status, stderr }).toEqual({ status: 0, stderr: '' });
  });
});

test.skipIf(spawnSync('fish', ['--version']).error !== undefined)(
  'fish offers commands, options and folders',
  () => {
    const offer = (line: string): string[] => {
      const script = `source ${join(folder, 'fish')}; complete -C ${JSON.stringify(line)}`;
      const { stdout } = spawnSync('fish', ['--no-config', '-c', script], { cwd: folder, encoding: 'utf8' });
      return stdout.split('\n').flatMap((l) => (l === '' ? [] : [l.split('\t')[0]!]));
    };
    expect(offer('stillmark publ')).toEqual(['publish']);
    expect(offer('stillmark publish --ke')).toEqual(['--keep', '--keep-days']);
    expect(offer('stillmark verify my').sort()).toEqual(['my dam/', 'my slope/']);
  },
);

describe('help', () => {
  test.each([...helps])('of %s explains every argument and option', (_, out) => {
    const [, ...rest] = out.split(/^(?:Arguments|Options):$/m);
    const lines = rest
      .join('\n')
      .split('\n')
      .filter((line) => /^ {2}\S/.test(line));
    expect(lines.length).toBeGreaterThan(0);
    for (const line of lines) expect(line).toMatch(/^ {2}\S.*? {2,}\S.{3}/);
    expect(out).toContain('Exit codes: 0 fine');
  });

  test('a shell that is not known is refused with those that are', async () => {
    expect(await stillmark(['completion', 'csh'])).toMatchObject({
      code: 2,
      err: expect.stringContaining('Allowed choices are bash, zsh, fish') as string,
    });
  });
});
