import { cp, mkdir, mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { geocentric } from '@stillmark/data/synthetic/place.ts';
import { afterEach, beforeEach, expect, inject, test } from 'vitest';
import { mustRun, stillmark } from '../support/command.ts';

// The positions of the demo slope as another country's spreadsheet writes them must give the same store, to the byte.
let folder: string;
let project: string;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-dialects-'));
  project = join(folder, 'project');
  await cp(inject('demoProject'), project, { recursive: true });
});
afterEach(() => rm(folder, { recursive: true, force: true }));

const storeOf = async (of: string): Promise<string> => {
  const months = (await readdir(join(of, 'store/epochs'))).sort();
  const files = await Promise.all(
    months.map((m) => readFile(join(of, 'store/epochs', m, 'epochs.parquet'), 'base64')),
  );
  return files.join('\n');
};

test('semicolons, decimal commas and dates with the day first give the same store', async () => {
  for (const name of await readdir(join(project, 'positions'))) {
    const path = join(project, 'positions', name);
    const [header, ...rows] = (await readFile(path, 'utf8')).trimEnd().split('\n');
    const place = header!.split(',').indexOf('time');
    const written = rows.map((row) =>
      row
        .split(',')
        .map((field, i) =>
          i === place
            ? field.replace(/^(\d{4})-(\d\d)-(\d\d)T(\d\d:\d\d:\d\d)Z$/, '$3.$2.$1 $4')
            : field.replace('.', ','),
        )
        .join(';'),
    );
    await writeFile(path, `\ufeff${[header!.replaceAll(',', ';'), ...written].join('\r\n')}\r\n`);
  }
  const file = join(project, 'project.yaml');
  const dialect = "    dialect: { delimiter: ;, decimal: ',', time: DD.MM.YYYY HH:mm:ss, utcOffset: Z }\n";
  await writeFile(
    file,
    (await readFile(file, 'utf8')).replace(
      '    solution: epoch-wise\n',
      `    solution: epoch-wise\n${dialect}`,
    ),
  );
  await rm(join(project, 'store'), { recursive: true });
  await mustRun(['check', project]);
  await mustRun(['ingest', project]);
  expect(await storeOf(project)).toBe(await storeOf(inject('demoProject')));
});

test('compressed files give the same store, whatever they are called', async () => {
  const names = (await readdir(join(project, 'positions'))).sort();
  for (const [i, name] of names.entries()) {
    const path = join(project, 'positions', name);
    const packed = gzipSync(await readFile(path));
    await rm(path);
    await writeFile(i % 2 === 0 ? `${path}.gz` : path, packed);
  }
  const file = join(project, 'project.yaml');
  await writeFile(file, (await readFile(file, 'utf8')).replace('positions/*.csv', 'positions/*'));
  await rm(join(project, 'store'), { recursive: true });
  await mustRun(['ingest', project]);
  expect(await storeOf(project)).toBe(await storeOf(inject('demoProject')));
});

test('the same file without its dialect is refused where it is, and nothing goes in', async () => {
  const [name] = (await readdir(join(project, 'positions'))).sort();
  const path = join(project, 'positions', name!);
  await writeFile(path, (await readFile(path, 'utf8')).replaceAll(',', ';'));
  const { code, err } = await stillmark(['check', project]);
  expect(code).toBe(1);
  expect(err).toContain(`positions/${name!}:1:1`);
  expect(err).toContain('has no column');
});

test('a SINEX file is ingested with the covariance of its matrix; what is wrong with it is told by line, and kept as rejected', async () => {
  const project_ = await readFile(join(project, 'project.yaml'), 'utf8');
  const stands = /id: S1[^]*?position: (\{[^}]*\})/.exec(project_)![1]!;
  const [latitude, longitude, height] = [...stands.matchAll(/-?\d+(?:\.\d+)?/g)].map(Number) as [
    number,
    number,
    number,
  ];
  const [x, y, z] = geocentric({ latitude, longitude, height });
  const estimate = (index: number, type: string, code: string, value: number): string =>
    ` ${String(index).padStart(5)} ${type}   ${code.padEnd(4)}  A    1 26:300:43200 m    2 ${value.toExponential(14)} 0.20000E-02`;
  const sinex = [
    '%=SNX 2.02 TST 26:301:00000 TST 26:300:00000 26:301:00000 P 00006 2 S',
    '+SOLUTION/ESTIMATE',
    estimate(1, 'STAX', 'ROC1', x),
    estimate(2, 'STAY', 'ROC1', y),
    estimate(3, 'STAZ', 'ROC1', z),
    estimate(4, 'STAX', 'ROC2', x),
    '-SOLUTION/ESTIMATE',
    '+SOLUTION/MATRIX_ESTIMATE L COVA',
    '     1     1 4.0E-06',
    '     2     1 1.0E-06 3.0E-06',
    '     3     1 0.0E+00 0.0E+00 5.0E-06',
    '-SOLUTION/MATRIX_ESTIMATE L COVA',
    '%ENDSNX',
    '',
  ].join('\n');
  await writeFile(join(project, 'day.snx'), sinex);
  const stream = `streams:
  - { name: weekly, kind: relative, base: B1, solution: epoch-wise, format: sinex, files: [day.snx], sites: { S1: ROC1, S2: ROC2 } }
`;
  await writeFile(join(project, 'project.yaml'), project_.replace('streams:\n', stream));
  const { code, out, err } = await stillmark(['ingest', project]);
  expect(code).toBe(1);
  expect(out).toContain('day.snx: 1 new, 0 repeated, 1 rejected');
  expect(err).toContain('day.snx:6:1');
  expect(err).toContain('of ROC2 not all of STAX, STAY and STAZ are there');
  await writeFile(join(project, 'day.snx'), sinex.replace(/.*ROC2.*\n/, ''));
  expect((await mustRun(['ingest', project])).out).toContain('day.snx: 0 new, 1 repeated');
});

test('logs of receivers are ingested by whose name they bear; what is passed over is told and stops nothing', async () => {
  const text = await readFile(join(project, 'project.yaml'), 'utf8');
  const stands = /id: S1[^]*?position: (\{[^}]*\})/.exec(text)![1]!;
  const [latitude, longitude, height] = [...stands.matchAll(/-?\d+(?:\.\d+)?/g)].map(Number) as [
    number,
    number,
    number,
  ];
  const minutes = (degrees: number, digits: number): string => {
    const whole = Math.floor(degrees);
    return `${String(whole).padStart(digits, '0')}${((degrees - whole) * 60).toFixed(8).padStart(11, '0')}`;
  };
  const sentence = (body: string): string => {
    const sum = Array.from(body).reduce((s, c) => s ^ c.charCodeAt(0), 0);
    return `$${body}*${sum.toString(16).toUpperCase().padStart(2, '0')}`;
  };
  const gga = (time: string, quality: number): string =>
    sentence(
      `GNGGA,${time},${minutes(latitude, 2)},N,${minutes(longitude, 3)},E,${quality},12,0.8,${(height - 50).toFixed(4)},M,50.0000,M,1.0,0031`,
    );
  const lines = [
    sentence('GNZDA,120000.00,27,10,2026,00,00'),
    ...['120000.00', '130000.00'].flatMap((time) => [
      gga(time, 4),
      sentence(`GNGST,${time},0.006,,,,0.002,0.002,0.004`),
    ]),
    gga('140000.00', 5),
  ];
  await mkdir(join(project, 'logs'));
  await writeFile(join(project, 'logs/S1_300.nmea'), `${lines.join('\r\n')}\r\n`);
  const stream = `streams:
  - { name: live, kind: relative, base: B1, solution: filtered, format: nmea, files: [logs/*.nmea], sites: { S1: logs/S1_*, S2: logs/S2_* } }
`;
  await writeFile(join(project, 'project.yaml'), text.replace('streams:\n', stream));
  const { code, out, err } = await stillmark(['ingest', project]);
  expect(err).toContain('1 position of quality 5 (float) is passed over');
  expect(code).toBe(0);
  expect(out).toContain('logs/S1_300.nmea: 2 new, 0 repeated, 1 rejected');
  await writeFile(join(project, 'logs/S9_300.nmea'), `${lines.join('\r\n')}\r\n`);
  const other = await stillmark(['ingest', project]);
  expect(other.code).toBe(1);
  expect(other.err).toContain('no station of stream live has a log of this name');
});
