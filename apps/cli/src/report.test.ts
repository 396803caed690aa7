import { fail, problem, warning } from '@stillmark/problems';
import { describe, expect, test } from 'vitest';
import { run, type World } from './program.ts';
import { report, reportError, type Terminal } from './report.ts';

function terminal(json = false): { terminal: Terminal; said: { out: string; err: string } } {
  const said = { out: '', err: '' };
  return { said, terminal: { json, out: (text) => (said.out += text), err: (text) => (said.err += text) } };
}

const thrown = (work: () => unknown): unknown => {
  try {
    work();
  } catch (error) {
    return error;
  }
  throw new Error('nothing was thrown');
};

describe('what the command says when it ends', () => {
  test('a warning alone is told and does not fail', () => {
    const { terminal: t, said } = terminal();
    expect(
      report(t, { lines: ['done'], data: {}, problems: [warning('STORE_CONFLICT', 'two positions')] }),
    ).toBe(0);
    expect(said.out).toBe('done\n');
    expect(said.err).toContain('warning STORE_CONFLICT');
  });

  test('of many problems the first twelve are printed and the rest counted; JSON holds all', () => {
    const problems = Array.from({ length: 40 }, (_, i) => problem('INPUT_ROW', `row ${i}`));
    const printed = terminal();
    expect(report(printed.terminal, { lines: [], data: {}, problems })).toBe(1);
    expect(printed.said.err.match(/INPUT_ROW/g)).toHaveLength(12);
    expect(printed.said.err).toContain('and 28 more');
    const json = terminal(true);
    report(json.terminal, { lines: [], data: { files: 3 }, problems });
    expect(JSON.parse(json.said.out)).toMatchObject({
      ok: false,
      exit: 1,
      files: 3,
      problems: { length: 40 },
    });
    expect(json.said.err).toBe('');
  });

  test('a problem of the user, a full disk and a bug end differently', () => {
    const user = terminal();
    expect(
      reportError(
        user.terminal,
        thrown(() => fail('USE_LOCKED', 'busy')),
        '1.2.3',
      ),
    ).toBe(2);
    const disk = terminal();
    expect(
      reportError(
        disk.terminal,
        Object.assign(new Error('ENOSPC: no space left on device'), { code: 'ENOSPC' }),
        '1.2.3',
      ),
    ).toBe(1);
    expect(disk.said.err).toBe('error the disk says no: ENOSPC: no space left on device\n');
    const bug = terminal();
    expect(reportError(bug.terminal, new TypeError(`boom in ${process.cwd()}/x.ts`), '1.2.3')).toBe(70);
    expect(bug.said.err).toMatch(/^This is a bug in stillmark 1\.2\.3, not a mistake of yours\./);
    expect(bug.said.err).toContain('boom in <folder>/x.ts');
    expect(bug.said.err).not.toContain(process.cwd());
  });
});

describe('the command line', () => {
  const world = (): World & { text: () => string } => {
    let text = '';
    const say = (more: string): void => void (text += more);
    return {
      out: say,
      err: say,
      interactive: false,
      nowMs: () => 0,
      input: { terminal: false, lines: () => [][Symbol.iterator]() as never },
      text: () => text,
    };
  };

  test('a word that is no command ends with 2, the version and the help with 0', async () => {
    expect(await run(['frobnicate'], world())).toBe(2);
    const versioned = world();
    expect(await run(['--version'], versioned)).toBe(0);
    expect(versioned.text()).toMatch(/^\d+\.\d+\.\d+\n$/);
    expect(await run(['help', 'commit'], world())).toBe(0);
  });

  test('a time is read with its zone, a day is its first instant in UTC', async () => {
    const w = world();
    expect(
      await run(['commit', '/nowhere', 'S1', '--from', '2026-13-01', '--to', '2026-03-29', '--by', 'A'], w),
    ).toBe(2);
    expect(w.text()).toContain('not a date and time of the calendar');
  });
});
