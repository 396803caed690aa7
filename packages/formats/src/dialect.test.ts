import {
  ellipsoids,
  geodeticKind,
  mapKind,
  mapProjection,
  toGeocentric,
  TopocentricFrame,
} from '@stillmark/geodesy';
import { source } from '@stillmark/data/synthetic/noise.ts';
import { formatProblem, ProblemError } from '@stillmark/problems';
import type { EpochRow } from '@stillmark/records';
import { expectClose } from '@stillmark/tooling/close';
import { describe, expect, test } from 'vitest';
import { readPositions, readReadings, usualDialect, type Dialect, type PositionsTask } from './index.ts';

const grs80 = ellipsoids['GRS 1980'];
const rad = Math.PI / 180;
const place = { latitude: 46.1 * rad, longitude: 9.2 * rad, height: 812.345 };
const near = toGeocentric(grs80, place);
const german: Dialect = { delimiter: ';', decimal: ',', time: 'DD.MM.YYYY HH:mm:ss', utcOffset: '+01:00' };
const geodetic: PositionsTask = {
  stream: 'main',
  timeScale: 'UTC',
  kind: geodeticKind(grs80),
  columns: {
    station: 'Punkt',
    time: 'Zeit',
    coordinates: ['Breite', 'Länge', 'Höhe'],
    uncertainty: ['sO', 'sN', 'sH'],
  },
  uncertainty: 'deviations',
  units: { position: 'm', covariance: 'm2', deviation: 'mm' },
  dialect: german,
  latestMs: Date.parse('2026-12-01T00:00:00Z'),
  stations: new Map([['S1', near]]),
};
const header = 'Punkt;Zeit;Breite;Länge;Höhe;sO;sN;sH;Bemerkung';
const read = (text: string, task = geodetic): ReturnType<typeof readPositions> =>
  readPositions(new TextEncoder().encode(text), 'a.csv', task);
const single = (text: string, task = geodetic): EpochRow => {
  const { rows, rejected } = read(text, task);
  expect(rejected.map((r) => formatProblem(r.problem))).toEqual([]);
  return rows[0]!;
};

describe('a spreadsheet with semicolons, decimal commas and dates of its country', () => {
  test('latitude, longitude, height and standard deviations become an epoch with its covariance', () => {
    const row = single(
      `${header}\r\nS1;1.3.2026 07:00:00;46,1;9,2;812,345;2,0;3,0;5,5;"alles gut; trocken"\r\n`,
    );
    expect(row.timeMs).toBe(Date.parse('2026-03-01T06:00:00Z'));
    expectClose(row, near, { within: 1e-8, unit: 'm' });
    // Turned back to east, north and up: 2, 3 and 5.5 mm, uncorrelated.
    const local = TopocentricFrame.at(grs80, near).rotateCovariance(row.covariance);
    expectClose(local, [4e-6, 0, 0, 9e-6, 0, 30.25e-6], { within: 1e-18, unit: 'm2' });
  });

  test.each([
    [
      'S1;1.3.2026 07:00:00;46.1;9,2;812,345;2,0;3,0;5,5;',
      "'46.1' is not a number (latitude)",
      'a number with a decimal comma',
    ],
    [
      'S1;31.2.2026 07:00:00;46,1;9,2;812,345;2,0;3,0;5,5;',
      "'31.2.2026 07:00:00' is not a date and time of the calendar",
      'DD.MM.YYYY',
    ],
    [
      'S1;2026-03-01T06:00:00Z;46,1;9,2;812,345;2,0;3,0;5,5;',
      'is not a time of the form DD.MM.YYYY HH:mm:ss',
      'DD.MM.YYYY',
    ],
    [
      'S1;1.3.2026 07:00:00;9,2;46,1;812,345;2,0;3,0;5,5;',
      'km from where S1 stands',
      'latitude, longitude, height in deg, deg, m',
    ],
    ['S1;1.3.2026 07:00:00;96,1;9,2;812,345;2,0;3,0;5,5;', '', 'a.csv:2'],
    [
      'S1;1.3.2026 07:00:00;46,1;9,2;812,345;2,0;0;5,5;',
      'standard deviations are not usable: a variance is zero',
      'millimetres, as the project file',
    ],
    [
      'S1;1.3.2026 07:00:00;46,1;9,2;1.812,345;2,0;3,0;5,5;',
      "'1.812,345' is not a number (height)",
      'decimal comma',
    ],
  ])('%s', (line, message, hint) => {
    const { rows, rejected } = read(`${header}\n${line}\n`);
    expect(rows).toEqual([]);
    const said = formatProblem(rejected[0]!.problem);
    expect(said).toContain(message);
    expect(said).toContain(hint);
    expect(said).toContain('a.csv:2:');
  });

  test('a column that is not there is named by what it holds', () => {
    expect(() => read(header.replace('sN', 'sX') + '\nx\n')).toThrow(/no column sN \(deviation of north\)/);
  });

  test('a header that other signs seem to part is answered with the key that says so', () => {
    const usual = { ...geodetic, dialect: usualDialect };
    const hintOf = (text: string, task: PositionsTask): string | undefined => {
      try {
        read(text, task);
        return undefined;
      } catch (error) {
        return (error as ProblemError).problems[0]!.hint;
      }
    };
    expect(hintOf(`${header}\nx\n`, usual)).toContain("`dialect: { delimiter: ';' }`");
    expect(hintOf(`${header.replaceAll(';', '\t')}\nx\n`, usual)).toContain('`dialect: { delimiter: tab }`');
    expect(hintOf(`${header.replaceAll(';', ',')}\nx\n`, geodetic)).toContain(
      "`dialect: { delimiter: ',' }`",
    );
    expect(hintOf('Punkt\nx\n', usual)).not.toContain('dialect');
  });
});

test('map coordinates with a covariance along east, north and up', () => {
  const kind = mapKind(mapProjection('EPSG:25832'));
  const [easting, northing] = kind.fromGeocentric(near);
  const task: PositionsTask = {
    ...geodetic,
    kind,
    uncertainty: 'covariance',
    columns: {
      station: 'id',
      time: 't',
      coordinates: ['E', 'N', 'h'],
      uncertainty: ['ee', 'en', 'eu', 'nn', 'nu', 'uu'],
    },
    dialect: { ...usualDialect, delimiter: '\t' },
  };
  const row = single(
    `id\tt\tE\tN\th\tee\ten\teu\tnn\tnu\tuu\nS1\t2026-03-01T06:00:00Z\t${easting}\t${northing}\t812.345\t4e-6\t1e-6\t0\t9e-6\t0\t3e-5\n`,
    task,
  );
  expectClose(row, near, { within: 1e-6, unit: 'm' });
  // The scale of the map at the place is within a thousandth.
  const local = TopocentricFrame.at(grs80, near).rotateCovariance(row.covariance);
  expectClose(local, [4e-6, 1e-6, 0, 9e-6, 0, 3e-5], { within: 4e-7, unit: 'm2' });
});

describe('times', () => {
  const times = (dialect: Partial<Dialect>, field: string, scale: 'UTC' | 'GPS' = 'UTC'): string => {
    const { rows, rejected } = readReadings(new TextEncoder().encode(`t,v\n${field},1\n`), 'l.csv', {
      sensor: 's',
      timeScale: scale,
      columns: { time: 't', value: 'v' },
      dialect: { ...usualDialect, ...dialect },
      latestMs: Date.parse('2026-12-01T00:00:00Z'),
    });
    return rows[0] ? new Date(rows[0].timeMs).toISOString() : formatProblem(rejected[0]!.problem);
  };
  test.each<[Partial<Dialect>, string, string]>([
    [{ time: 'MM/DD/YYYY HH:mm', utcOffset: '-05:00' }, '3/1/2026 1:30', '2026-03-01T06:30:00.000Z'],
    [{ time: 'YYYYMMDD HHmmss', utcOffset: 'Z' }, '20260301 063000', '2026-03-01T06:30:00.000Z'],
    [{ time: 'DD.MM.YYYY HH:mm:ss', utcOffset: 'Z' }, '01.03.2026 06:30:00.25', '2026-03-01T06:30:00.250Z'],
    [{ utcOffset: '+02:00' }, '2026-03-01 08:30:00', '2026-03-01T06:30:00.000Z'],
    [{ utcOffset: '+02:00' }, '2026-03-01T08:30:00Z', '2026-03-01T08:30:00.000Z'],
  ])('%o %s', (dialect, field, expected) => expect(times(dialect, field)).toBe(expected));

  // IERS Bulletin C: 18 s since 2017.
  test('of GPS time have no zone and are brought to UTC', () =>
    expect(times({ time: 'DD.MM.YYYY HH:mm:ss' }, '01.03.2026 06:30:18', 'GPS')).toBe(
      '2026-03-01T06:30:00.000Z',
    ));

  test('an hour that no clock has is refused', () =>
    expect(times({ time: 'DD.MM.YYYY HH:mm', utcOffset: 'Z' }, '01.03.2026 24:30')).toContain(
      'not a date and time',
    ));
});

// What a comma and a point mean is declared and never guessed: each field is read one way or refused.
test('a number is never read in two ways', () => {
  const value = (decimal: '.' | ',', field: string): number | undefined =>
    readReadings(new TextEncoder().encode(`t;v\n2026-03-01T06:00:00Z;${field}\n`), 'l.csv', {
      sensor: 's',
      timeScale: 'UTC',
      columns: { time: 't', value: 'v' },
      dialect: { delimiter: ';', decimal },
      latestMs: Date.parse('2026-12-01T00:00:00Z'),
    }).rows[0]?.value;
  expect([
    value('.', '1.5'),
    value(',', '1,5'),
    value('.', '1,5'),
    value(',', '1.5'),
    value(',', '1,5,5'),
    value(',', '-1,5e-3'),
  ]).toEqual([1.5, 1.5, undefined, undefined, undefined, -0.0015]);
});

test('whatever is done to a file, it is read or refused with its place, and never brings the reader down', () => {
  const good = `${header}\n${Array.from({ length: 12 }, (_, k) => `S1;1.3.2026 ${k}:00:00;46,1;9,2;812,345;2,0;3,0;5,5;x`).join('\n')}\n`;
  const { uniform } = source(20);
  const pick = (n: number): number => Math.floor(n * uniform());
  const odd = [
    '"',
    ';',
    ',',
    '\n',
    '\r',
    '\u0000',
    '\ufeff',
    '__proto__',
    '1e999',
    '-',
    'NaN',
    '\ud800',
    '',
    '\t',
  ];
  let [read_, refused] = [0, 0];
  for (let round = 0; round < 3000; round++) {
    let text = good;
    for (let k = 0; k <= pick(4); k++) {
      const at = pick(text.length);
      text = text.slice(0, at) + odd[pick(odd.length)]! + text.slice(at + pick(8));
    }
    try {
      const { rows, rejected } = read(text);
      read_++;
      for (const { problem } of rejected) expect(problem.at).toMatchObject({ file: 'a.csv' });
      for (const row of rows) expect(Number.isFinite(row.x + row.covariance[0] + row.timeMs)).toBe(true);
    } catch (error) {
      if (!(error instanceof ProblemError)) throw error;
      expect(error.problems[0]!.at).toMatchObject({ file: 'a.csv' });
      refused++;
    }
  }
  expect(read_).toBeGreaterThan(500);
  expect(refused).toBeGreaterThan(50);
});
