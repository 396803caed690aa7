import { formatProblem, ProblemError } from '@stillmark/problems';
import type { ObservationEpoch, ObservationHead } from '@stillmark/records';
import { describe, expect, test } from 'vitest';
import { RinexObservations } from '../index.ts';

interface Found {
  readonly head?: ObservationHead;
  readonly epochs: ObservationEpoch[];
  readonly told: string[];
}

/** Reads a text in pieces of so many bytes. */
function read(text: string, piece = 64): Found {
  let head: ObservationHead | undefined;
  const epochs: ObservationEpoch[] = [];
  const told: string[] = [];
  const reader = new RinexObservations('a.rnx', { head: (h) => (head = h), epoch: (e) => epochs.push(e) });
  const bytes = new TextEncoder().encode(text);
  try {
    for (let i = 0; i < bytes.length; i += piece) reader.take(bytes.subarray(i, i + piece));
    reader.end();
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error;
    told.push(...error.problems.map(formatProblem));
  }
  told.unshift(...reader.rejected.map((r) => formatProblem(r.problem)));
  return { ...(head ? { head } : {}), epochs, told };
}

const label = (text: string, name: string): string => text.padEnd(60) + name;

// Example of RINEX 2.11 (Gurtner and Estey 2007, table A7), figures and records as public copies print it; texts of comments are ours.
const mixed =
  [
    label('     2.11           OBSERVATION DATA    M (MIXED)', 'RINEX VERSION / TYPE'),
    label('ONE                 TWO                 24-MAR-01 14:43', 'PGM / RUN BY / DATE'),
    label('A 9080', 'MARKER NAME'),
    label('9080.1.34', 'MARKER NUMBER'),
    label('  4375274.       587466.      4589095.', 'APPROX POSITION XYZ'),
    label('         .9030         .0000         .0000', 'ANTENNA: DELTA H/E/N'),
    label('     1     1', 'WAVELENGTH FACT L1/2'),
    label('     1     2     6   G14   G15   G16   G17   G18   G19', 'WAVELENGTH FACT L1/2'),
    label('     0', 'RCV CLOCK OFFS APPL'),
    label('     5    P1    L1    L2    P2    L5', '# / TYPES OF OBSERV'),
    label('    18.000', 'INTERVAL'),
    label('  2005     3    24    13    10   36.0000000', 'TIME OF FIRST OBS'),
    label('', 'END OF HEADER'),
    ' 05  3 24 13 10 36.0000000  0  4G12G09G06E11                         -.123456789',
    '  23629347.915            .300 8         -.353    23629364.158',
    '  20891534.648           -.120 9         -.358    20891541.292',
    '  20607600.189           -.430 9          .394    20607605.848',
    '                          .324 8                                          .178 7',
    ' 05  3 24 13 10 50.0000000  4  4',
    label('     1     2     2   G 9   G12', 'WAVELENGTH FACT L1/2'),
    label('  wavelength factor changed', 'COMMENT'),
    label('', 'COMMENT'),
    label('', 'COMMENT'),
    ' 05  3 24 13 10 54.0000000  0  6G12G09G06R21R22E11                   -.123456789',
    '  23619095.450      -53875.632 8    -41981.375    23619112.008',
    '  20886075.667      -28688.027 9    -22354.535    20886082.101',
    '  20611072.689       18247.789 9     14219.770    20611078.410',
    '  21345678.576       12345.567 5',
    '  22123456.789       23456.789 5',
    '                     65432.123 5                                     48861.586 7',
    ' 05  3 24 13 11  0.0000000  2  1',
    label('  moving from here on', 'COMMENT'),
    ' 05  3 24 13 11 48.0000000  0  4G16G12G09G06                         -.123456789',
    '  21110991.756       16119.980 7     12560.510    21110998.441',
    '  23588424.398     -215050.557 6   -167571.734    23588439.570',
    '  20869878.790     -113803.187 8    -88677.926    20869884.938',
    '  20621643.727       73797.462 7     57505.177    20621649.276',
    '                            3  4',
    label('A 9080', 'MARKER NAME'),
    label('9080.1.34', 'MARKER NUMBER'),
    label('         .9030         .0000         .0000', 'ANTENNA: DELTA H/E/N'),
    label('  a new site begins', 'COMMENT'),
    ' 05  3 24 13 12  6.0000000  0  4G16G12G06G09                         -.123456987',
    '  21112589.384       24515.877 6     19102.763 3  21112596.187',
    '  23578228.338     -268624.234 7   -209317.284 4  23578244.398',
    '  20625218.088       92581.207 7     72141.846 4  20625223.795',
    '  20864539.693     -141858.836 8   -110539.435 5  20864545.943',
    ' 05  3 24 13 13  1.2345678  5  0',
    '                            4  1',
    label('  an event with its time', 'COMMENT'),
    ' 05  3 24 13 14 12.0000000  0  4G16G12G09G06                         -.123456012',
    '  21124965.133       89551.30216     69779.62654  21124972.2754',
    '  23507272.372     -212616.150 7   -165674.789 5  23507288.421',
    '  20828010.354     -333820.093 6   -260119.395 5  20828017.129',
    '  20650944.902      227775.130 7    177487.651 4  20650950.363',
    '                            4  1',
    label('  lost lock on G 16', 'COMMENT'),
    ' 05  3 24 13 14 12.0000000  6  2G16G09',
    '                 123456789.0      -9876543.5',
    '                         0.0            -0.5',
    '                            4  2',
    label('  slips that have been mended', 'COMMENT'),
    label('', 'COMMENT'),
    ' 05  3 24 13 14 48.0000000  0  4G16G12G09G06                         -.123456234',
    '  21128884.159      110143.144 7     85825.18545  21128890.7764',
    '  23487131.045     -318463.297 7   -248152.72824  23487146.149',
    '  20817844.743     -387242.571 6   -301747.22925  20817851.322',
    '  20658519.895      267583.67817    208507.26234  20658525.869',
    '                            4  3',
    label('  one', 'COMMENT'),
    label('  two', 'COMMENT'),
    label('  three', 'COMMENT'),
  ].join('\n') + '\n';

describe('RINEX 2.11', () => {
  const { head, epochs, told } = read(mixed);

  test('head, epochs and events of the example of the format', () => {
    expect(told).toEqual([]);
    expect(head).toMatchObject({
      marker: 'A 9080',
      position: { x: 4375274, y: 587466, z: 4589095 },
      intervalMs: 18_000,
    });
    // GPS time was ahead of UTC by 13 s in 2005.
    expect(epochs.map(({ timeMs }) => new Date(timeMs).toISOString())).toEqual(
      ['13:10:23', '13:10:41', '13:11:35', '13:11:53', '13:13:59', '13:14:35'].map(
        (t) => `2005-03-24T${t}.000Z`,
      ),
    );
    expect(epochs.map((e) => e.satellites.map((s) => s.satellite).join(' '))).toEqual([
      'G12 G09 G06 E11',
      'G12 G09 G06 R21 R22 E11',
      'G16 G12 G09 G06',
      'G16 G12 G06 G09',
      'G16 G12 G09 G06',
      'G16 G12 G09 G06',
    ]);
  });

  test('values and marks', () => {
    expect(epochs[0]!.satellites[0]!.signals).toEqual([
      { signal: '1', code: 23629347.915, phase: 0.3, lostLock: false },
      { signal: '2', code: 23629364.158, phase: -0.353, lostLock: false },
    ]);
    expect(epochs[1]!.satellites[5]!.signals).toEqual([
      { signal: '1', phase: 65432.123, lostLock: false },
      { signal: '5', phase: 48861.586, lostLock: false },
    ]);
    // The marks of G 16 at 13:14:12 are 1 (lost) with strength 6, and 5 (lost, anti-spoofing) with 4.
    expect(epochs[4]!.satellites[0]!.signals.map((s) => s.lostLock)).toEqual([true, true]);
    expect(epochs[4]!.satellites[1]!.signals.map((s) => s.lostLock)).toEqual([false, false]);
    expect(epochs[5]!.satellites[1]!.signals.map((s) => s.lostLock)).toEqual([false, false]);
  });

  test('is read the same in pieces of any size, and with Windows line ends', () => {
    expect(read(mixed, 1).epochs).toEqual(epochs);
    expect(read(mixed, 1e6).epochs).toEqual(epochs);
    expect(read(mixed.replaceAll('\n', '\r\n'), 7).epochs).toEqual(epochs);
  });

  test('more than twelve satellites go on in the next line', () => {
    const names = Array.from({ length: 14 }, (_, i) => `G${String(i + 1).padStart(2, '0')}`);
    const text =
      [
        label('     2.11           OBSERVATION DATA    G', 'RINEX VERSION / TYPE'),
        label('     2    C1    L1', '# / TYPES OF OBSERV'),
        label('', 'END OF HEADER'),
        ` 26  3  1  0  0  0.0000000  0 14${names.slice(0, 12).join('')}`,
        `${' '.repeat(32)}${names.slice(12).join('')}`,
        ...names.map(
          (_, i) => `${(2e7 + i).toFixed(3).padStart(14)}  ${(1e8 + i).toFixed(3).padStart(14)}  `,
        ),
      ].join('\n') + '\n';
    const found = read(text);
    expect(found.told).toEqual([]);
    expect(found.epochs[0]!.satellites.map((s) => s.satellite)).toEqual(names);
    expect(found.epochs[0]!.satellites[13]!.signals[0]).toMatchObject({ code: 2e7 + 13, phase: 1e8 + 13 });
  });
});

// Records of a real receiver and of the example of RINEX 3.0x (table A3) as public copies print them.
const head3 = [
  label('     3.02           OBSERVATION DATA    M', 'RINEX VERSION / TYPE'),
  label('TWTF', 'MARKER NAME'),
  label(' -2994427.6478  4951307.5755  2674496.0997', 'APPROX POSITION XYZ'),
  label('G   18 C1C L1C D1C S1C C1W S1W C2W L2W D2W S2W C2L L2L D2L', 'SYS / # / OBS TYPES'),
  label('       S2L C5Q L5Q D5Q S5Q', 'SYS / # / OBS TYPES'),
  label('S    8 C1C L1C D1C S1C C5I L5I D5I S5I', 'SYS / # / OBS TYPES'),
  label('R   16 C1C L1C D1C S1C C2P L2P D2P S2P C2C L2C D2C S2C C3Q', 'SYS / # / OBS TYPES'),
  label('       L3Q D3Q S3Q', 'SYS / # / OBS TYPES'),
  label('C    8 C1I L1I D1I S1I C7I L7I D7I S7I', 'SYS / # / OBS TYPES'),
  label('  2 R05  1 R20  2', 'GLONASS SLOT / FRQ #'),
  label('  2019     1    10     0     0    0.0000000     GPS', 'TIME OF FIRST OBS'),
  label('DBHZ', 'SIGNAL STRENGTH UNIT'),
  label('', 'END OF HEADER'),
];
const epoch3 = [
  '> 2019 01 10 00 00  0.0000000  0  5',
  'S22  36968522.053 7 194271247.78607       -39.024 7        43.970',
  'R20  21470076.145 6 114810173.20606      3090.169 6        36.450    21470085.162 7  89296810.30607      2403.428 7        43.482    21470085.883 7  89296817.31207      2403.475 7        42.724',
  'G24  23660058.191 5 124334441.97205      3536.009 5        35.948    23660058.183 3        22.609    23660062.087 3  96883999.47003      2755.327 3        22.609    23660061.636 6  96884000.48606      2755.368 6        39.024',
  'S30-262832343.036 7-381193270.63107        60.308 7        46.056',
  'C07  38000000.000 7 198000000.00007         0.000 7        41.000',
];
const text3 = (lines: readonly string[]): string => `${[...head3, ...lines].join('\n')}\n`;

describe('RINEX 3', () => {
  test('signals with code, phase, strength and mark', () => {
    const { head, epochs, told } = read(text3(epoch3));
    expect(told).toEqual([]);
    expect(head!.channels).toEqual(new Map([['R05', 1], ['R20', 2]])); // prettier-ignore
    expect(new Date(epochs[0]!.timeMs).toISOString()).toBe('2019-01-09T23:59:42.000Z');
    const [s22, r20, g24, s30, c07] = epochs[0]!.satellites;
    expect(s22!.signals).toEqual([
      { signal: '1C', code: 36968522.053, phase: 194271247.786, cn0: 43.97, lostLock: false },
    ]);
    expect(r20!.signals.map((s) => s.signal)).toEqual(['1C', '2P', '2C']);
    expect(g24!.signals).toEqual([
      { signal: '1C', code: 23660058.191, phase: 124334441.972, cn0: 35.948, lostLock: false },
      { signal: '1W', code: 23660058.183, cn0: 22.609, lostLock: false },
      { signal: '2W', code: 23660062.087, phase: 96883999.47, cn0: 22.609, lostLock: false },
      { signal: '2L', code: 23660061.636, phase: 96884000.486, cn0: 39.024, lostLock: false },
    ]);
    expect(s30!.signals[0]!.code).toBe(-262832343.036);
    // BeiDou's B1I is written in band 1 by 3.02, and is in band 2.
    expect(c07!.signals[0]!.signal).toBe('2I');
  });

  test('a record that is broken loses its epoch, and no other', () => {
    const broken = epoch3.with(2, epoch3[2]!.replace('21470076.145', '2147x076.145'));
    const next = epoch3.with(0, epoch3[0]!.replace('00 00  0', '00 00 30'));
    const { epochs, told } = read(text3([...broken, ...next]));
    expect(epochs.map((e) => e.satellites.length)).toEqual([5]);
    expect(told).toHaveLength(1);
    expect(told[0]).toContain('a.rnx:16:4');
    expect(told[0]).toContain("'2147x076.145' is not a number");
  });

  test('tells where a file is cut, where times go back, and what satellites are not listed', () => {
    expect(read(text3(epoch3.slice(0, 4))).told.join()).toContain('ends in the middle of an epoch');
    expect(read(text3([...epoch3, ...epoch3])).told.join()).toContain('not after that before it');
    expect(read(text3(['> 2019 01 10 00 00  0.0000000  0  1', 'E11  36968522.053 7'])).told.join()).toContain(
      'no types of observations of E',
    );
  });

  test('refuses the compact form, other files and texts without lines', () => {
    expect(
      read(label('3.0                 COMPACT RINEX FORMAT', 'CRINEX VERS   / TYPE') + '\n').told.join(),
    ).toContain('Hatanaka');
    expect(read('time,x,y\n1,2,3\n').told.join()).toContain('does not begin as RINEX');
    expect(read('x'.repeat(3 * 2 ** 20), 65_536).told.join()).toContain('more than 1048576 characters');
    expect(read('').told.join()).toContain('the file is empty');
    expect(read('\u0000\u0001').told.join()).toContain('byte 1 is NUL');
  });
});

describe('what files of others hold', () => {
  const first = epoch3.slice(0, 2).with(0, epoch3[0]!.replace(/ 5$/, ' 1'));
  const with2 = (more: string, lines: readonly string[]): Found =>
    read(`${[...head3.slice(0, -1), more, head3.at(-1)!, ...lines].join('\n')}\n`);

  test('scaled values are divided by their factor', () => {
    const found = with2(label('S  100  2 C1C L1C', 'SYS / SCALE FACTOR'), first);
    expect(found.told).toEqual([]);
    expect(found.epochs[0]!.satellites[0]!.signals[0]).toMatchObject({
      code: expect.closeTo(369685.22053, 6) as number,
      cn0: 43.97,
    });
  });

  test('a last line without its end is not taken, nor an infinite number, nor another time system', () => {
    expect(read(text3(first).trimEnd()).epochs).toEqual([]);
    expect(read(text3(first).trimEnd()).told.join()).toContain('ends in the middle of an epoch');
    expect(read(text3(first.with(1, 'S22      Infinity'))).told.join()).toContain(
      "'Infinity' is not a number",
    );
    const other = head3.map((l) => l.replace('     GPS         TIME', '     XYZ         TIME'));
    expect(read(`${[...other, ...first].join('\n')}\n`).told.join()).toContain(
      "time system 'XYZ' is not known",
    );
    const utc = head3.map((l) => l.replace('     GPS         TIME', '     UTC         TIME'));
    expect(new Date(read(`${[...utc, ...first].join('\n')}\n`).epochs[0]!.timeMs).toISOString()).toBe(
      '2019-01-10T00:00:00.000Z',
    );
  });

  test('a new site ends what is of this one', () => {
    const moved = [
      '> 2019 01 10 00 01  0.0000000  3  1',
      label('OTHER', 'MARKER NAME'),
      first[0]!.replace('00 00  0', '00 02  0'),
      first[1]!,
    ];
    const found = read(text3([...first, ...moved]));
    expect(found.epochs).toHaveLength(1);
    expect(found.told.join()).toContain('goes on at OTHER');
  });

  test('the last lines of the last satellite of RINEX 2 may be left out; types of 2.12 have letters', () => {
    const text = `${[
      label('     2.12           OBSERVATION DATA    G', 'RINEX VERSION / TYPE'),
      label('     6    C1    L1    S1    C2    L2    CA', '# / TYPES OF OBSERV'),
      label('', 'END OF HEADER'),
      ' 26  3  1  0  0  0.0000000  0  1G05',
      '  20000000.000   100000000.000          45.000    20000001.000    80000000.000',
    ].join('\n')}\n`;
    const found = read(text);
    expect(found.told).toEqual([]);
    expect(found.epochs[0]!.satellites[0]!.signals.map((s) => s.signal)).toEqual(['1', '2']);
  });
});
