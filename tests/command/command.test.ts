import { cp, mkdtemp, readdir, readFile, rm, writeFile, appendFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, inject, test } from 'vitest';
import { mustRun, stillmark } from '../support/command.ts';

let folder: string;
let project: string;
let site: string;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-command-'));
  project = join(folder, 'project');
  site = join(folder, 'site');
  await cp(inject('demoProject'), project, { recursive: true });
});
afterEach(() => rm(folder, { recursive: true, force: true }));

const csv = 'positions/2026-11.csv';
const edit = async (file: string, change: (text: string) => string): Promise<void> => {
  const path = join(project, file);
  await writeFile(path, change(await readFile(path, 'utf8')));
};
const storeBytes = async (): Promise<string> => {
  const months = (await readdir(join(project, 'store/epochs'))).sort();
  const files = await Promise.all(
    months.map((m) => readFile(join(project, 'store/epochs', m, 'epochs.parquet'), 'base64')),
  );
  return files.join('\n');
};

describe('help and wrong use', () => {
  test('--help names every command and the exit codes', async () => {
    const { code, out, err } = await stillmark(['--help']);
    expect({ code, err }).toEqual({ code: 0, err: '' });
    for (const name of ['check', 'ingest', 'commit', 'snapshot', 'transform', 'schema', 'verify'])
      expect(out).toMatch(new RegExp(`^  ${name} `, 'm'));
    expect(out).toContain(
      'Exit codes: 0 fine, 1 the project or its data say no, 2 wrong use, 70 a bug of ours.',
    );
  });

  test('--help of a command is pinned whole', async () => {
    expect((await stillmark(['commit', '--help'])).out)
      .toBe(`Usage: stillmark commit [options] <project> <station...>

Commit the reference positions of stations.

Appends to reference-positions.yaml the mean of the reference period, in every
stream that sees the stations, who committed it, when, and the evidence. Refuses
a period that is not ready; of several stations all are committed or none.

Arguments:
  project             project folder, with project.yaml
  station             ids of the stations

Options:
  --json              print the result as JSON
  --from <time>       begin of the reference period
  --to <time>         end of the reference period
  --by <person>       who commits
  --at <time>         when the commitment was made (default: now)
  --despite <reason>  commit what is not ready; the reason is recorded and shown
  -h, --help          display help for command

Exit codes: 0 fine, 1 the project or its data say no, 2 wrong use, 70 a bug of ours.
`);
  });

  test.each([
    [['snapshot', 'x'], /required option '--out <dir>'/],
    [['chek', 'x'], /Did you mean check/],
    [['check'], /missing required argument 'project'/],
    [['snapshot', 'x', '--out', 'y', '--as-of', '2026-11-01T00:00:00'], /has no time zone/],
    [['check', '/nowhere/at/all'], /USE_FOLDER_MISSING/],
    [['verify', '/nowhere/at/all'], /USE_FOLDER_MISSING/],
    [['snapshot', 'x', '--out', 's3://bucket/dam'], /'s3:\/\/bucket\/dam' is an address/],
    [['check', 'https://example.org/dam'], /a folder on a disk is asked for/],
  ])('%j ends with 2', async (args, expected) => {
    const { code, out, err } = await stillmark(args);
    expect({ code, out }).toEqual({ code: 2, out: '' });
    expect(err).toMatch(expected);
  });

  test('--json gives the problems as data on standard output', async () => {
    await edit('project.yaml', (text) => text.replace('role: monitoring', 'role: monitor'));
    const { code, out, err } = await stillmark(['check', project, '--json']);
    expect({ code, err }).toEqual({ code: 1, err: '' });
    expect(JSON.parse(out)).toMatchObject({
      ok: false,
      exit: 1,
      problems: [
        {
          code: 'PROJECT_VALUE',
          seen: 'monitor',
          allowed: ['base', 'monitoring'],
          at: { file: 'project.yaml', line: 42, column: 11 },
        },
      ],
    });
  });
});

describe('bad input: told, not thrown, and nothing stored before is harmed', () => {
  test('an unknown role', async () => {
    await edit('project.yaml', (text) => text.replace('role: monitoring', 'role: monitor'));
    for (const args of [
      ['check', project],
      ['ingest', project],
      ['snapshot', project, '--out', site],
    ]) {
      const { code, out, err } = await stillmark(args);
      expect({ code, out }).toEqual({ code: 1, out: '' });
      expect(err).toMatch(
        /^project\.yaml:42:11 error PROJECT_VALUE\n {2}role of station 3 'monitor' is not known\n[^]*would be right: base or monitoring/,
      );
    }
    await expect(readdir(site)).rejects.toThrow(/ENOENT/);
  });

  test.each<[string, (text: string) => string, RegExp, number]>([
    [
      'a missing column',
      (t) => t.replace('cyz', 'c_yz'),
      /2026-11\.csv:1:1 error INPUT_COLUMN[^]*no column cyz/,
      0,
    ],
    [
      'a time without zone',
      (t) => t.replace('T05:00:00Z', 'T05:00:00'),
      /2026-11\.csv:\d+:4 error INPUT_TIME[^]*has no time zone/,
      1,
    ],
    [
      'a covariance that is not positive semi-definite',
      (t) => `${t}S1,2026-11-22T05:30:00Z,4339933.28,755714.84,4598657.18,1e-6,9e-6,0,1e-6,0,1e-6\n`,
      /INPUT_COVARIANCE[^]*larger than its two variances allow/,
      1,
    ],
    ['a file cut in the middle of a row', (t) => t.slice(0, -60), /2026-11\.csv:\d+:\d+ error INPUT_CUT/, 1],
    ['a file that is not text', () => '\u0000\u0001', /INPUT_NOT_TEXT/, 0],
    ['an empty file', () => '', /INPUT_EMPTY/, 0],
  ])('%s', async (_, change, expected, rejected) => {
    const before = await storeBytes();
    await edit(csv, change);
    const checked = await stillmark(['check', project]);
    expect(checked.code).toBe(1);
    expect(checked.err).toMatch(expected);
    const { code, err } = await stillmark(['ingest', project]);
    expect(code).toBe(1);
    expect(err).toMatch(expected);
    expect(err).not.toMatch(/ {4}at /);
    expect(await storeBytes()).toBe(before);
    if (rejected > 0)
      expect(await readFile(join(project, 'store/rejects/positions__2026-11.csv.txt'), 'utf8')).toMatch(
        expected,
      );
    const { code: stated } = await stillmark(['snapshot', project, '--out', site]);
    expect(stated).toBe(0);
  });

  test('a file where the store should be, and a name that is too long, are told as things of the disk', async () => {
    await rm(join(project, 'store'), { recursive: true });
    await writeFile(join(project, 'store'), '');
    const ingested = await stillmark(['ingest', project]);
    expect({ code: ingested.code, told: /the disk says no/.test(ingested.err) }).toEqual({
      code: 1,
      told: true,
    });
    const other = join(folder, 'other');
    await cp(inject('demoProject'), other, { recursive: true });
    const long = await stillmark(['snapshot', other, '--out', join(folder, 'x'.repeat(300))]);
    expect({ code: long.code, told: /the disk says no/.test(long.err) }).toEqual({ code: 1, told: true });
  });

  test('what stands in the store is not read again; a month that was lost, or a file that is now read otherwise, is', async () => {
    const month = join(project, 'store/epochs/month=2026-10/epochs.parquet');
    const before = await readFile(month);
    await rm(month);
    const again = await mustRun(['ingest', project]);
    expect(again.out).toMatch(/2026-10\.csv: [1-9]\d* new, 0 repeated/);
    expect(again.out).toMatch(/2026-11\.csv: 0 new, \d+ repeated/);
    expect((await readFile(month)).equals(before)).toBe(true);
    const yaml = await readFile(join(project, 'project.yaml'), 'utf8');
    await writeFile(join(project, 'project.yaml'), yaml.replace('xx: cxx', 'xx: czz'));
    expect((await mustRun(['ingest', project])).out).toMatch(/2026-11\.csv: [1-9]\d* new/);
  });

  test.each([
    ['that is not there', undefined, /INPUT_NONE[^]*there is no file site\.geojson/],
    ['that is no GeoJSON', '{"type":"Feature"', /OUTLINE_INVALID/],
    [
      'with latitude first',
      '{"type":"LineString","coordinates":[[46.42,9.87],[46.43,9.88]]}',
      /km from the nearest station[^]*longitude first/,
    ],
  ])('an outline %s is told by check, and nothing is written by snapshot', async (_, outline, expected) => {
    const yaml = await readFile(join(project, 'project.yaml'), 'utf8');
    await writeFile(
      join(project, 'project.yaml'),
      yaml.replace('timeZone:', 'outline: site.geojson\ntimeZone:'),
    );
    if (outline !== undefined) await writeFile(join(project, 'site.geojson'), outline);
    const site = join(project, '../outlined');
    for (const args of [
      ['check', project],
      ['snapshot', project, '--out', site],
    ]) {
      const { code, err } = await stillmark(args);
      expect({ code, told: expected.test(err) }).toEqual({ code: 1, told: true });
    }
    await expect(readdir(site)).rejects.toThrow(/ENOENT/);
  });

  test('many bad rows are counted, the first are shown, all are in the rejects file, and the good ones go in', async () => {
    await edit(csv, (text) =>
      text.replaceAll('S1,', 'S7,').replace('2026-11-22T23:00:00Z', '2026-11-23T00:00:00Z'),
    );
    const { code, out, err } = await stillmark(['ingest', project]);
    expect(code).toBe(1);
    expect(err).toMatch(/and \d{3} more/);
    expect(out).toMatch(/2026-11\.csv: 1 new, \d+ repeated, \d{3} rejected/);
    const rejects = await readFile(join(project, 'store/rejects/positions__2026-11.csv.txt'), 'utf8');
    expect(rejects.match(/INPUT_STATION/g)!.length).toBeGreaterThan(400);
    await cp(join(inject('demoProject'), csv), join(project, csv));
    expect((await stillmark(['ingest', project])).code).toBe(0);
    expect(await readdir(join(project, 'store/rejects'))).toEqual([]);
  });

  test('two different positions for one time are both kept, neither used, and told on the site', async () => {
    await edit(csv, (text) => {
      const row = text.split('\n').find((line) => line.startsWith('S1,2026-11-20'))!;
      return `${text}${row.replace(/,(\d+\.\d)\d{3},/, ',$1999,')}\n`;
    });
    expect((await stillmark(['ingest', project])).out).toMatch(/1 new/);
    const { code, out } = await stillmark(['snapshot', project, '--out', site]);
    expect(code).toBe(0);
    expect(out).toContain(
      'Doubt: S1: 2 epochs have two different positions for one time; none of them is used.',
    );
    expect(await readFile(join(site, 'index.html'), 'utf8')).toContain(
      '2 epochs have two different positions',
    );
  });
});

describe('commit', () => {
  const dates = ['--by', 'A. Person', '--at', '2026-12-01'];

  test('a period that is not ready is refused, and with a reason it is recorded and shown', async () => {
    const args = ['commit', project, 'S3', '--from', '2026-11-14', '--to', '2026-11-22', ...dates];
    const before = await readFile(join(project, 'reference-positions.yaml'), 'utf8');
    const refused = await stillmark(args);
    expect(refused.code).toBe(1);
    expect(refused.err).toMatch(/REFERENCE_PERIOD[^]*not ready: it spans 8\.0 of 14 days[^]*--despite/);
    expect(await readFile(join(project, 'reference-positions.yaml'), 'utf8')).toBe(before);
    expect((await stillmark([...args, '--despite', 'the road opens on Monday'])).code).toBe(0);
    const after = await readFile(join(project, 'reference-positions.yaml'), 'utf8');
    expect(after.startsWith(before)).toBe(true);
    await stillmark(['snapshot', project, '--out', site]);
    expect(await readFile(join(site, 'stations/S3.html'), 'utf8')).toContain(
      'despite: the road opens on Monday',
    );
  });

  test.each([
    [['B1', '--from', '2026-09-14', '--to', '2026-10-12'], 'B1 is held'],
    [['S9', '--from', '2026-09-14', '--to', '2026-10-12'], 'S9 is not in the project'],
    [['S1', '--from', '2026-10-12', '--to', '2026-09-14'], 'ends before it begins'],
    [['S1', '--from', '2020-01-01', '--to', '2020-02-01'], 'holds no epochs of S1'],
  ])('%j is refused', async (args, expected) => {
    const { code, err } = await stillmark(['commit', project, ...args, ...dates]);
    expect(code).toBe(1);
    expect(err).toContain(expected);
  });
});

describe('what a review found on 25 November 2026', () => {
  test('the same positions delivered again with other digits of covariance change no statement', async () => {
    await edit(csv, (text) => {
      const rows = text.trimEnd().split('\n').slice(1);
      const again = rows.map((row) =>
        row
          .split(',')
          .map((v, i) => (i === 5 ? Number(v).toExponential(4) : v))
          .join(','),
      );
      return `${text}${again.join('\n')}\n`;
    });
    expect((await stillmark(['ingest', project])).out).toMatch(/\d{3,} new/);
    const { out } = await stillmark(['snapshot', project, '--out', site, '--json']);
    expect(JSON.parse(out)).toMatchObject({
      headline: { moved: ['S2'], still: ['S1'], open: ['S3'] },
      doubts: [],
    });
  });

  test('an epoch of the future is rejected and does not move the as-of time', async () => {
    await edit(csv, (text) => `${text}${text.split('\n')[1]!.replace('2026-', '2099-')}\n`);
    const { code, err } = await stillmark(['ingest', project]);
    expect(code).toBe(1);
    expect(err).toMatch(/INPUT_TIME[^]*lies in the future/);
  });

  test('a commitment that could not be read again is not written', async () => {
    const before = await readFile(join(project, 'reference-positions.yaml'), 'utf8');
    const args = ['commit', project, 'S1', '--from', '2026-09-14', '--to', '2026-10-12'];
    expect((await stillmark([...args, '--by', ''])).code).toBe(1);
    expect(await readFile(join(project, 'reference-positions.yaml'), 'utf8')).toBe(before);
  });

  test('a monitoring station before the other base is refused, and with it is not', async () => {
    await rm(join(project, 'reference-positions.yaml'));
    const args = ['--from', '2026-09-14', '--to', '2026-10-12', '--by', 'A'];
    const refused = await stillmark(['commit', project, 'S1', ...args]);
    expect(refused.err).toContain(
      'of B2, which is to show whether the base moves, no reference position is committed',
    );
    expect((await stillmark(['commit', project, 'S1', 'B2', ...args])).code).toBe(0);
    expect((await stillmark(['commit', project, 'S2', ...args])).code).toBe(0);
  });

  test('of commitments made at once none is lost: each is in the file or was refused', async () => {
    const before = (await readFile(join(project, 'reference-positions.yaml'), 'utf8')).match(
      /- station/g,
    )!.length;
    // Monitoring stations before their bases need a reason, whoever comes first.
    const args = ['--from', '2026-09-14', '--to', '2026-10-12', '--by', 'A', '--despite', 'at once'];
    const ended = await Promise.all(
      ['B2', 'S1', 'S2'].map((id) => stillmark(['commit', project, id, ...args])),
    );
    const done = ended.filter((e) => e.code === 0).length;
    expect(ended.every((e) => e.code === 0 || /USE_LOCKED/.test(e.err))).toBe(true);
    expect(
      (await readFile(join(project, 'reference-positions.yaml'), 'utf8')).match(/- station/g),
    ).toHaveLength(before + done);
  });

  test('a commitment of another stream does not count', async () => {
    await edit('reference-positions.yaml', (text) => text.replaceAll('stream: main', 'stream: earlier'));
    const { out } = await stillmark(['snapshot', project, '--out', site, '--json']);
    expect(JSON.parse(out)).toMatchObject({ headline: { moved: [], still: [], open: ['S1', 'S2', 'S3'] } });
  });
});

describe('snapshot and verify', () => {
  test('as of an earlier time the site states what was known then', async () => {
    const { out } = await stillmark([
      'snapshot',
      project,
      '--out',
      site,
      '--as-of',
      '2026-10-20T00:00:00Z',
      '--json',
    ]);
    expect(JSON.parse(out)).toMatchObject({
      ok: true,
      asOf: '2026-10-20T00:00:00Z',
      validUntil: '2026-10-22T00:00:00Z',
      headline: { moved: [], still: ['S1', 'S2'], open: ['S3'] },
    });
    expect(await readFile(join(site, 'stations/S3.html'), 'utf8')).toContain('S3 has no positions.');
  });

  test('a folder that is not a snapshot is not touched', async () => {
    const { code, err } = await stillmark(['snapshot', project, '--out', project]);
    expect(code).toBe(2);
    expect(err).toContain('USE_OUTPUT_TAKEN');
    expect((await readdir(project)).sort()).toEqual([
      'positions',
      'project.yaml',
      'reference-positions.yaml',
      'store',
    ]);
  });

  test('a snapshot replaces an earlier one and leaves nothing beside it', async () => {
    await stillmark(['snapshot', project, '--out', site]);
    await stillmark(['snapshot', project, '--out', site, '--as-of', '2026-11-01']);
    expect((await stillmark(['verify', site])).code).toBe(0);
    expect((await readdir(folder)).sort()).toEqual(['project', 'site']);
    expect(JSON.parse(await readFile(join(site, 'status.json'), 'utf8'))).toMatchObject({
      asOf: '2026-11-01T00:00:00Z',
    });
  });

  test('a command that was stopped between the two renames is mended by the next', async () => {
    await cp(inject('demoSite'), join(folder, '.site.stillmark-previous'), { recursive: true });
    await cp(inject('demoSite'), join(folder, '.site.stillmark-partial'), { recursive: true });
    await edit('project.yaml', (text) => text.replace('role: monitoring', 'role: monitor'));
    expect((await stillmark(['snapshot', project, '--out', site])).code).toBe(1);
    await cp(join(inject('demoProject'), 'project.yaml'), join(project, 'project.yaml'));
    expect((await stillmark(['snapshot', project, '--out', site])).code).toBe(0);
    expect((await stillmark(['verify', site])).code).toBe(0);
    expect((await readdir(folder)).sort()).toEqual(['project', 'site']);
  });

  test('verify tells what is changed, missing and added', async () => {
    await cp(inject('demoSite'), site, { recursive: true });
    await appendFile(join(site, 'index.html'), ' ');
    await rm(join(site, 'stations/S1.html'));
    await writeFile(join(site, 'extra.txt'), 'x');
    const { code, out, err } = await stillmark(['verify', site]);
    expect({ code, out }).toEqual({ code: 1, out: '' });
    expect(err).toMatch(
      /extra\.txt error SNAPSHOT_FILE[^]*added[^]*index\.html error[^]*changed[^]*stations\/S1\.html error[^]*missing/,
    );
  });

  test('without epochs there is nothing to state', async () => {
    await rm(join(project, 'store'), { recursive: true });
    const { code, err } = await stillmark(['snapshot', project, '--out', site]);
    expect(code).toBe(1);
    expect(err).toMatch(/STORE_EMPTY[^]*stillmark ingest/);
  });
});
