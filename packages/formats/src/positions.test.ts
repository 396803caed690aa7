import { formatProblem, ProblemError } from '@stillmark/problems';
import { describe, expect, test } from 'vitest';
import { geocentricKind } from '@stillmark/geodesy';
import { readPositions, usualDialect, type PositionsTask } from './index.ts';

const columns = {
  station: 'station',
  time: 'time',
  coordinates: ['x', 'y', 'z'],
  uncertainty: ['cxx', 'cxy', 'cxz', 'cyy', 'cyz', 'czz'],
} as const;
const near = { x: 4_373_283, y: 708_272, z: 4_573_123 };
const task: PositionsTask = {
  latestMs: Date.parse('2026-12-01T00:00:00Z'),
  stream: 'main',
  timeScale: 'UTC',
  units: { position: 'm', covariance: 'm2', deviation: 'm' },
  kind: geocentricKind,
  uncertainty: 'covariance',
  dialect: usualDialect,
  columns,
  stations: new Map([
    ['S1', near],
    ['S2', near],
  ]),
};

const header = 'station,time,x,y,z,cxx,cxy,cxz,cyy,cyz,czz';
const numbers = '4373283.1234,708272.5,4573123.875,4e-06,1e-07,0,2e-06,0,9e-06';
const row = `S1,2026-03-01T06:00:00Z,${numbers}`;
const read = (text: string, more: Partial<PositionsTask> = {}) =>
  readPositions(new TextEncoder().encode(text), 'positions/a.csv', { ...task, ...more });
const reason = (line: string): string => {
  const { rows, rejected } = read(`${header}\n${row}\n${line}\n${row.replace('06:', '07:')}\n`);
  expect(rows.length).toBe(2);
  expect(rejected.length).toBe(1);
  return formatProblem(rejected[0]!.problem);
};
const refusal = (text: string | Uint8Array): string => {
  try {
    if (typeof text === 'string') read(text);
    else readPositions(text, 'positions/a.csv', task);
  } catch (error) {
    if (error instanceof ProblemError) return error.problems.map(formatProblem).join('\n');
    throw error;
  }
  return 'not refused';
};

describe('positions in CSV', () => {
  test('a row becomes an epoch with its covariance', () => {
    expect(read(`${header}\n${row}\n`)).toEqual({
      rows: [
        {
          stream: 'main',
          station: 'S1',
          timeMs: Date.parse('2026-03-01T06:00:00Z'),
          x: 4_373_283.1234,
          y: 708_272.5,
          z: 4_573_123.875,
          covariance: [4e-6, 1e-7, 0, 2e-6, 0, 9e-6],
        },
      ],
      rejected: [],
    });
  });

  test('byte order mark, CRLF, quotes, spaces, empty lines and further columns do not matter', () => {
    const text = `\ufeff${header},note\r\n\r\n"S1", 2026-03-01T06:00:00Z ,${numbers},"rain, then ""snow"""\r\n`;
    expect(read(text).rows).toEqual(read(`${header}\n${row}\n`).rows);
  });

  test('GPS time is converted where it is declared', () => {
    const text = `${header}\n${row.replace('06:00:00Z', '06:00:18')}\n`;
    expect(read(text, { timeScale: 'GPS' }).rows[0]!.timeMs).toBe(Date.parse('2026-03-01T06:00:00Z'));
  });
});

describe('rows that are rejected, while the others are read', () => {
  test('a time without zone is told with line, column, pointer and remedy', () => {
    expect(reason(row.replace('Z', ''))).toBe(
      [
        'positions/a.csv:3:4 error INPUT_TIME',
        "  '2026-03-01T06:00:00' has no time zone",
        `  3 | ${row.replace('Z', '')}`,
        '    |    ^',
        '  would be right: 2026-03-01T06:00:00Z; other forms, and times without a zone, by `dialect` (time, utcOffset)',
      ].join('\n'),
    );
  });

  test.each([
    [
      'a covariance that is not positive semi-definite',
      row.replace('1e-07', '3e-06'),
      /INPUT_COVARIANCE[^]*larger than its two variances allow/,
    ],
    ['a negative variance', row.replace('9e-06', '-9e-06'), /INPUT_COVARIANCE[^]*zz is negative/],
    [
      'a zero variance, as exports write what is unknown',
      row.replace('4e-06,1e-07,0,2e-06,0,9e-06', '0,0,0,0,0,0'),
      /INPUT_COVARIANCE[^]*a variance is zero/,
    ],
    [
      'a variance beyond any position',
      row.replace('9e-06', '1e+308'),
      /INPUT_COVARIANCE[^]*standard deviation of/,
    ],
    ['a time before the first satellite', row.replace('2026-03', '1979-03'), /INPUT_TIME[^]*first satellite/],
    ['a zone that does not exist', row.replace('Z,', '+99:00,'), /INPUT_TIME[^]*zone that does not exist/],
    [
      'square millimetres for square metres',
      row.replace('4e-06,1e-07,0,2e-06,0,9e-06', '4,0.1,0,2,0,9'),
      /INPUT_COVARIANCE[^]*deviation of 3 m[^]*covariance: mm2/,
    ],
    ['a time in the future', row.replace('2026-03', '2099-03'), /INPUT_TIME[^]*lies in the future/],
    ['a station that is not in the project', row.replace('S1', 'S9'), /INPUT_STATION[^]*one of S1, S2/],
    ['a decimal comma', row.replace('4373283.1234', '"4373283,1234"'), /INPUT_NUMBER[^]*decimal point/],
    ['an empty number', row.replace('708272.5', ''), /:3:38 error INPUT_NUMBER/],
    ['not a number', row.replace('708272.5', 'NaN'), /INPUT_NUMBER/],
    ['a number beyond the range of numbers', row.replace('9e-06', '9e999'), /INPUT_NUMBER/],
    ['millimetres for metres', row.replace('4373283.1234', '4373283123.4'), /INPUT_POSITION[^]*4368910 km/],
    ['another station', row.replace('708272.5', '708472.5'), /INPUT_POSITION[^]*201 m from where S1 stands/],
    ['a row with a field too few', row.replace(',0,', ','), /INPUT_ROW[^]*10 fields, the header 11/],
  ])('%s', (_, line, expected) => expect(reason(line)).toMatch(expected));

  test('a column that stands twice is refused: which one is meant cannot be known', () => {
    expect(refusal(`${header},x\n${row},1\n`)).toMatch(/:1:\d+ error INPUT_COLUMN[^]*two columns x/);
  });

  test('lines of mixed ends are read; a carriage return alone is refused with its line', () => {
    expect(read(`${header}\r\n${row}\n${row.replace('06:', '07:')}\r\n`).rows.length).toBe(2);
    expect(refusal(`${header}\n${row}\r${row}\n`)).toMatch(/positions\/a\.csv:2 error INPUT_NOT_TEXT/);
  });

  test('declared units are turned into metres and square metres', () => {
    const inMm = row.replace(numbers, '4373283123.4,708272500,4573123875,4,0.1,0,2,0,9');
    const { rows } = read(`${header}\n${inMm}\n`, {
      units: { position: 'mm', covariance: 'mm2', deviation: 'm' },
    });
    expect([rows[0]!.x, rows[0]!.covariance[0], rows[0]!.covariance[5]]).toEqual([
      expect.closeTo(4_373_283.1234, 6),
      expect.closeTo(4e-6, 12),
      expect.closeTo(9e-6, 12),
    ]);
  });

  test('a file cut in the middle of a row loses that row only', () => {
    const { rows, rejected } = read(`${header}\n${row}\n${row.slice(0, 40)}`);
    expect(rows.length).toBe(1);
    expect(formatProblem(rejected[0]!.problem)).toMatch(
      /a\.csv:3:\d+ error INPUT_CUT[^]*4 of 11 fields[^]*delivered again/,
    );
  });

  test('a file cut in the middle of its last number does not give a wrong number', () => {
    const { rows, rejected } = read(`${header}\n${row}\n${row.slice(0, -2)}`);
    expect(rows.length).toBe(1);
    expect(rejected[0]!.problem.code).toBe('INPUT_CUT');
  });
});

describe('files that are refused as a whole', () => {
  test('a missing column is named, with the columns that are there', () => {
    expect(refusal(`${header.replace('cyz', 'cov_yz')}\n${row}\n`)).toMatch(
      /a\.csv:1:1 error INPUT_COLUMN[^]*no column cyz \(yz\)[^]*cov_yz/,
    );
  });

  test.each([
    ['an empty file', '', /INPUT_EMPTY/],
    ['a header alone', `${header}\n`, /INPUT_EMPTY[^]*no rows/],
    ['a compressed file', Uint8Array.of(0x1f, 0x8b, 8, 0, 0), /INPUT_NOT_TEXT[^]*NUL/],
    ['bytes in another encoding', Uint8Array.of(0x73, 0xe9, 0x0a), /INPUT_NOT_TEXT[^]*UTF-8/],
    ['a quote that is never closed', `${header}\n"S1,2026\n`, /INPUT_ROW[^]*quote/i],
  ])('%s', (_, text, expected) => expect(refusal(text)).toMatch(expected));
});
