import { source } from '@stillmark/data/synthetic/noise.ts';
import { formatProblem, ProblemError } from '@stillmark/problems';
import { expectClose } from '@stillmark/tooling/close';
import { describe, expect, test } from 'vitest';
import { readSinex, type SinexTask } from './index.ts';

const near = { x: 4_373_283, y: 708_272, z: 4_573_123 };
const task: SinexTask = {
  stream: 'main',
  timeScale: 'UTC',
  latestMs: Date.parse('2026-12-01T00:00:00Z'),
  stations: new Map([
    ['S1', near],
    ['S2', { ...near, x: near.x + 30 }],
  ]),
};
interface Site {
  readonly code: string;
  readonly xyz: readonly [number, number, number];
}
const sites: Site[] = [
  { code: 'S1', xyz: [4373283.1234567, 708272.5, 4573123.875] },
  { code: 'S2', xyz: [4373313.25, 708272.0625, 4573122.9] },
];
/** A full covariance of all six coordinates, positive definite, square metres. */
function covariance(): number[][] {
  const { normal } = source(9);
  const root = Array.from({ length: 6 }, () => Array.from({ length: 6 }, () => 0.002 * normal()));
  return root.map((a, i) =>
    root.map((b, j) => a.reduce((s, v, k) => s + v * b[k]!, 0) + (i === j ? 1e-6 : 0)),
  );
}
const e21 = (v: number): string => v.toExponential(14).padStart(21);

/** A file by the tables of the format (IERS 2006, SINEX 2.02, appendix I, sections 21 and 23). */
function written(
  form: 'L COVA' | 'U COVA' | 'L CORR' | 'U CORR' | undefined,
  more: Partial<Record<'epoch' | 'end', string>> = {},
): string {
  const c = covariance();
  const deviation = (i: number): number => Math.sqrt(c[i]![i]!);
  const epoch = more.epoch ?? '26:060:43200';
  const estimates = sites.flatMap(({ code, xyz }, s) =>
    xyz.map((value, k) => {
      const i = 3 * s + k;
      const index = String(i + 1).padStart(5);
      return ` ${index} STA${'XYZ'[k]!}   ${code.padEnd(4)}  A    1 ${epoch} m    2 ${e21(value)} ${deviation(i).toExponential(5).padStart(11)}`;
    }),
  );
  const element = (i: number, j: number): number => {
    if (form?.endsWith('COVA')) return c[i]![j]!;
    return i === j ? deviation(i) : c[i]![j]! / deviation(i) / deviation(j);
  };
  const rows = form
    ? Array.from({ length: 6 }, (_, i) => i).flatMap((i) => {
        const columns = Array.from({ length: 6 }, (_, j) => j).filter((j) =>
          form.startsWith('L') ? j <= i : j >= i,
        );
        return [0, 3].flatMap((from) => {
          const part = columns.slice(from, from + 3);
          if (part.length === 0) return [];
          return [
            ` ${String(i + 1).padStart(5)} ${String(part[0]! + 1).padStart(5)} ${part.map((j) => e21(element(i, j))).join(' ')}`,
          ];
        });
      })
    : [];
  return [
    '%=SNX 2.02 TST 26:061:00000 TST 26:060:00000 26:061:00000 P 00006 2 S',
    '*-------------------------------------------------------------------------------',
    '+FILE/REFERENCE',
    ' DESCRIPTION        made for a test',
    '-FILE/REFERENCE',
    '+SOLUTION/ESTIMATE',
    '*INDEX TYPE__ CODE PT SOLN _REF_EPOCH__ UNIT S __ESTIMATED VALUE____ _STD_DEV___',
    ...estimates,
    ` ${'7'.padStart(5)} VELX   S1    A    1 ${epoch} m/y  2 ${e21(-0.0219)} 0.13728E-03`,
    '-SOLUTION/ESTIMATE',
    ...(form
      ? [
          `+SOLUTION/MATRIX_ESTIMATE ${form}`,
          '*PARA1 PARA2 ____PARA2+0__________ ____PARA2+1__________ ____PARA2+2__________',
          ...rows,
          `-SOLUTION/MATRIX_ESTIMATE ${form}`,
        ]
      : []),
    more.end ?? '%ENDSNX',
    '',
  ].join('\n');
}
const read = (text: string, more: Partial<SinexTask> = {}): ReturnType<typeof readSinex> =>
  readSinex(new TextEncoder().encode(text), 'a.snx', { ...task, ...more });
const refusal = (text: string): string => {
  try {
    const { rejected } = read(text);
    return rejected.map((r) => formatProblem(r.problem)).join('\n');
  } catch (error) {
    if (error instanceof ProblemError) return error.problems.map(formatProblem).join('\n');
    throw error;
  }
};

describe('positions with their covariance', () => {
  const c = covariance();
  const block = (s: number): number[] =>
    [
      [0, 0],
      [0, 1],
      [0, 2],
      [1, 1],
      [1, 2],
      [2, 2],
    ].map(([i, j]) => c[3 * s + i!]![3 * s + j!]!);

  test.each(['L COVA', 'U COVA', 'L CORR', 'U CORR'] as const)(
    '%s: a round trip to 1e-12 of the variances',
    (form) => {
      const { rows, rejected } = read(written(form));
      expect(rejected).toEqual([]);
      expect(rows.map(({ station, timeMs }) => [station, timeMs])).toEqual(
        ['S1', 'S2'].map((id) => [id, Date.parse('2026-03-01T12:00:00Z')]),
      );
      rows.forEach((row, s) => {
        expectClose([row.x, row.y, row.z], sites[s]!.xyz, { within: 1e-7, unit: 'm' });
        expectClose([...row.covariance], block(s), { within: 1e-12 * Math.max(...block(s)), unit: 'm2' });
      });
    },
  );

  test('without a matrix the standard deviations stand alone', () => {
    const [row] = read(written(undefined)).rows;
    expectClose([...row!.covariance], [c[0]![0]!, 0, 0, c[1]![1]!, 0, c[2]![2]!], {
      within: 1e-10,
      unit: 'm2',
    });
  });

  test('sites are named by codes where the project says so, and others passed over', () => {
    const { rows, rejected } = read(written('L COVA').replaceAll(' S2 ', ' MARK'), {
      sites: new Map([['MARK', 'S2']]),
    });
    expect(rejected).toEqual([]);
    expect(rows.map(({ station }) => station)).toEqual(['S2']);
  });

  test('GPS time is brought to UTC (18 s since 2017, IERS Bulletin C)', () => {
    expect(read(written('L COVA'), { timeScale: 'GPS' }).rows[0]!.timeMs).toBe(
      Date.parse('2026-03-01T11:59:42Z'),
    );
  });
});

// Lines as two public files have them (an Australian weekly solution and a global one): mantissas without a leading zero, a solution
// written as dashes, an empty point code's neighbour; the values are those printed.
test('lines as real files have them', () => {
  const text = `%=SNX 2.10 GSI 05:035:53276 GSI 04:351:07314 04:352:07084 R 00020 2 E S
+SOLUTION/ESTIMATE
     1 STAX   ALGO  A ---- 05:180:43200 m    2 .91812936331043008E+6 .2511266E-2
     2 STAY   ALGO  A ---- 05:180:43200 m    2 -.43460713E+7 .2511266E-2
     3 STAZ   ALGO  A ---- 05:180:43200 m    2 .45619779D+7 .2511266D-2
   916 VELX   YAKA  A    1 00:001:00000 m/y  2 -.219615010076079E-01 0.13728E-03
-SOLUTION/ESTIMATE
%ENDSNX
`;
  const algo = { x: 918_129.363, y: -4_346_071.3, z: 4_561_977.9 };
  const { rows, rejected } = read(text, { stations: new Map([['algo', algo]]) });
  expect(rejected).toEqual([]);
  expect(rows).toHaveLength(1);
  expect(rows[0]).toMatchObject({
    station: 'algo',
    x: 918129.36331043008,
    timeMs: Date.parse('2005-06-29T12:00:00Z'),
  });
  expect(rows[0]!.covariance[0]).toBeCloseTo(0.002511266 ** 2, 15);
});

describe('what is wrong is named with its line', () => {
  const good = written('L COVA');
  test.each([
    ['a file that is cut', good.slice(0, good.indexOf('-SOLUTION/MATRIX')), /INPUT_CUT[^]*no line %ENDSNX/],
    ['another file', 'time,x\n1,2\n', /a\.snx:1:1[^]*does not begin as SINEX/],
    [
      'a block that is not closed',
      good.replace('-SOLUTION/ESTIMATE\n', ''),
      /block SOLUTION\/ESTIMATE is not closed before/,
    ],
    ['no estimates', good.replaceAll('SOLUTION/ESTIMATE', 'SOLUTION/APRIORI'), /no block SOLUTION\/ESTIMATE/],
    ['normal equations', good.replaceAll('L COVA', 'L INFO'), /of the form 'L INFO'[^]*are not turned round/],
    [
      'a coordinate that is missing',
      good.replace(/.*STAY {3}S1 .*\n/, ''),
      /a\.snx:8:1[^]*of S1 not all of STAX, STAY and STAZ/,
    ],
    ['a coordinate twice', good.replace('    2 STAY', '    2 STAX'), /STAX of S1 stands twice/],
    [
      'a strange site',
      good.replaceAll('S2    A', 'QQ    A'),
      /INPUT_STATION[^]*site 'QQ' is not in the project/,
    ],
    ['another unit', good.replace('43200 m    2', '43200 mm   2'), /the unit of STAX is 'mm'/],
    [
      'a word for a number',
      good.replace('4.37328312345670e+6', '4.3732831234567Oe+6'),
      /a\.snx:8:1[^]*not a line of SOLUTION\/ESTIMATE/,
    ],
    [
      'a time of no calendar',
      written('L COVA', { epoch: '26:366:00000' }),
      /'26:366:00000' is not a time of the calendar/,
    ],
    ['a time to come', written('L COVA', { epoch: '27:001:00000' }), /lies in the future/],
    [
      'the wrong place',
      good.replaceAll('4.37328312345670e+6', '4.37228312345670e+6'),
      /the position is 1000 m from where S1 stands/,
    ],
  ])('%s', (_, text, message) => expect(refusal(text)).toMatch(message));

  test('a matrix that is no covariance', () => {
    const lines = good.split('\n');
    const at = lines.findIndex((line) => line.startsWith('     2     1 '));
    lines[at] = lines[at]!.replace(/( {4}2 {5}1 ) *\S+/, '$1 0.10000000000000E+00');
    expect(refusal(lines.join('\n'))).toMatch(/the covariance of S1 is not usable/);
  });
});

test('whatever is done to a file, it is read or refused with its place, and never brings the reader down', () => {
  const good = written('U CORR');
  const { uniform } = source(21);
  const pick = (n: number): number => Math.floor(n * uniform());
  const odd = ['+', '-', ' ', '\n', '%', '*', '\u0000', '__proto__', '1e999', 'NaN', 'STAX', '0'];
  let [ok, refused] = [0, 0];
  for (let round = 0; round < 2000; round++) {
    let text = good;
    for (let k = 0; k <= pick(4); k++) {
      const at = pick(text.length);
      text = text.slice(0, at) + odd[pick(odd.length)]! + text.slice(at + pick(60));
    }
    try {
      const { rows, rejected } = read(text);
      ok++;
      for (const { problem } of rejected) expect(problem.at!.line).toBeGreaterThan(0);
      for (const row of rows) expect(Number.isFinite(row.x + row.covariance[0] + row.timeMs)).toBe(true);
    } catch (error) {
      if (!(error instanceof ProblemError)) throw error;
      expect(error.problems[0]!.at).toMatchObject({ file: 'a.snx' });
      refused++;
    }
  }
  expect(ok).toBeGreaterThan(300);
  expect(refused).toBeGreaterThan(100);
});
