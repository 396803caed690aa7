import { formatProblem } from '@stillmark/problems';
import { parse } from 'csv-parse/sync';
import { describe, expect, test } from 'vitest';
import { readCsv } from './csv.ts';
import { readPoints } from './index.ts';

const geodetic = {
  kind: 'geodetic',
  names: ['latitude', 'longitude', 'height'],
  covarianceNames: ['ee', 'en', 'eu', 'nn', 'nu', 'uu'],
  otherCovarianceNames: ['xx', 'xy', 'xz', 'yy', 'yz', 'zz'],
} as const;
const bytes = (text: string): Uint8Array => new TextEncoder().encode(text);
const read = (text: string): ReturnType<typeof readPoints> => readPoints(bytes(text), 'points.csv', geodetic);

describe('points in CSV', () => {
  test('coordinates, covariances and epochs by name, whatever the case; other columns are kept as they are', () => {
    const points = read(
      'name,Longitude,Latitude,Height,note,ee,en,eu,nn,nu,uu,EPOCH\nA,11.5,47.25,620.1,"wet, windy",4,1,0,3,0,9,2026.5\nB,11,47,-3,,1,0,0,1,0,1,2020\n',
    );
    expect(points.rejected).toEqual([]);
    expect([...points.coordinates]).toEqual([47.25, 11.5, 620.1, 47, 11, -3]);
    expect([...points.covariances!]).toEqual([4, 1, 0, 3, 0, 9, 1, 0, 0, 1, 0, 1]);
    expect(points.epochs).toMatchObject({ kind: 'year', values: Float64Array.of(2026.5, 2020) });
    expect(points.fields[0]![4]).toBe('wet, windy');
    expect(points.lines).toEqual([2, 3]);
  });

  test('times are instants', () => {
    const { epochs } = read('time,latitude,longitude,height\n2026-03-01T06:00:00Z,47,11,0\n');
    expect(epochs).toMatchObject({
      kind: 'instant',
      values: Float64Array.of(Date.parse('2026-03-01T06:00:00Z')),
    });
  });

  test('rows that cannot be read are told by line and column, and give no values', () => {
    const { rejected, coordinates } = read(
      'latitude,longitude,height\n47,11,high\n47,11,1\n48,12\n49,13,2\n50,14,3',
    );
    expect([...coordinates]).toEqual([47, 11, 1, 49, 13, 2]);
    expect(rejected.map(({ problem }) => formatProblem(problem).split('\n')[0])).toEqual([
      'points.csv:2:7 error INPUT_NUMBER',
      'points.csv:4:4 error INPUT_ROW',
      'points.csv:6:7 error INPUT_CUT',
    ]);
  });

  test.each([
    ['lat,lon,h\n1,2,3\n', /no column latitude, longitude, height \(geodetic coordinates\)/],
    ['latitude,longitude,height,ee\n1,2,3,4\n', /of a covariance the file has only ee/],
    ['latitude,longitude,height,epoch,time\n1,2,3,4,5\n', /both a column epoch and a column time/],
    ['latitude,latitude,longitude,height\n1,1,2,3\n', /two columns latitude/],
    ['latitude,longitude,height\n', /no rows/],
    ['Latitude,latitude,longitude,height\n1,1,2,3\n', /two columns latitude/],
    ['id,ID,latitude,longitude,height\n1,1,1,2,3\n', /two columns ID/],
    ['latitude,longitude,height,xx,xy,xz,yy,yz,zz\n1,2,3,1,0,0,1,0,1\n', /along other axes/],
  ])('%j is refused', (text, message) => expect(() => read(text)).toThrow(message));
});

test('what is read without the library, since nothing is quoted, is what the library reads (ten thousand random files)', () => {
  // A generator of its own (Lehmer), so that this room needs no other.
  let seed = 7;
  const pick = (n: number): number => {
    seed = (seed * 48_271) % 2_147_483_647;
    return seed % n;
  };
  const pieces = ['a', '1.5', ' ', '\t', ',', ',', '', '-', 'é', '\n', '\r\n', '\n\n', ' \n'];
  for (let i = 0; i < 10_000; i++) {
    const body = Array.from({ length: pick(14) }, () => pieces[pick(pieces.length)]!).join('');
    const text = `h,k\n${body}`;
    const library = parse(text, {
      relax_column_count: true,
      relax_quotes: true,
      skip_empty_lines: true,
      trim: true,
      info: true,
      record_delimiter: ['\r\n', '\n'],
    }) as unknown as { record: string[]; info: { lines: number } }[];
    if (library.length < 2) continue;
    const ours = readCsv(bytes(text), 'x.csv', { h: 'h', k: 'k' });
    expect({ text, rows: ours.body.map(({ fields, line }) => ({ fields, line })) }).toEqual({
      text,
      rows: library.slice(1).map(({ record, info }) => ({ fields: record, line: info.lines })),
    });
  }
});
