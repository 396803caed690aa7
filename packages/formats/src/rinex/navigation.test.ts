import { formatProblem, ProblemError } from '@stillmark/problems';
import { expectClose } from '@stillmark/tooling/close';
import { describe, expect, test } from 'vitest';
import { readNavigation, readYuma } from '../index.ts';

const bytes = (...lines: string[]): Uint8Array => new TextEncoder().encode(`${lines.join('\n')}\n`);
const label = (text: string, name: string): string => text.padEnd(60) + name;
const field = (value: number): string => value.toExponential(12).replace('e', 'D').padStart(19);
const row = (...values: number[]): string => `    ${values.map(field).join('')}`;

// Broadcast elements of Galileo E04 and the position that the IGS published for the same time (MGEX, 2019, day 101).
const e04 = [
  `E04 2019 04 10 09 30 00${field(-4.7e-4)}${field(-7e-12)}${field(0)}`,
  row(50, -18.78125, 3.7394414770330066e-9, -0.38716557650888),
  row(-8.903443813323975e-7, 0.00024088891223073006, 6.61797821521759e-6, 5440.602949142456),
  row(293400, 3.166496753692627e-8, -0.36639513583951266, -1.862645149230957e-8),
  row(0.9531656087278083, 194.0625, -1.6870064194345724, -5.7695260382035525e-9),
  row(-2.36081262303612e-10, 517, 2048, 0),
  row(3.12, 0, 0, 0),
  row(294000, 0, 0, 0),
];
// First record of the example of GLONASS in RINEX 2 (table A11), from memory.
const glonass = [
  ' 1 98  2 15  0 15  0.0 0.163525342941D-03 0.363797880709D-11 0.108000000000D+05',
  '    0.106275903320D+05-0.348924636841D+00 0.931322574615D-09 0.000000000000D+00',
  '   -0.944422070313D+04 0.288163375854D+01 0.931322574615D-09 0.210000000000D+02',
  '    0.212257280273D+05 0.144599342346D+01-0.186264514923D-08 0.300000000000D+01',
];
const head = (version: string, type: string, system = ' '): string[] => [
  label(`     ${version}           ${type.padEnd(20)}${system}`, 'RINEX VERSION / TYPE'),
  label('', 'END OF HEADER'),
];

describe('RINEX navigation', () => {
  test('an orbit of Galileo stands within 2.1 m of the published position, in RINEX 3 and 4', () => {
    for (const lines of [
      [...head('3.05', 'N: GNSS NAV DATA', 'M'), ...e04],
      [...head('4.00', 'NAVIGATION DATA', 'M'), '> ION G01 LNAV', '    2019 04 11', '> EPH E04 INAV', ...e04, '> EPH G05 CNAV', ...e04.with(0, e04[0]!.replace('E04', 'G05'))], // prettier-ignore
    ]) {
      const { orbits, rejected } = readNavigation(bytes(...lines), 'a.nav');
      expect(rejected).toEqual([]);
      expect(orbits.map((o) => [o.satellite, o.healthy])).toEqual([['E04', true]]);
      const { x, y, z } = orbits[0]!.orbit(Date.UTC(2019, 3, 10, 9, 30));
      expectClose([x, y, z], [10487480.721, 17867448.753, -21131462.002], { within: 2.1, unit: 'm' });
      expect(orbits[0]!.referenceMs).toBe(Date.UTC(2019, 3, 10, 9, 30));
    }
  });

  test('GLONASS of RINEX 2: kilometres, UTC, channel', () => {
    const { orbits } = readNavigation(bytes(...head('2.11', 'GLONASS NAV DATA'), ...glonass), 'a.98g');
    // 12 s between UTC and GPS time in 1998.
    const at = Date.UTC(1998, 1, 15, 0, 15, 12);
    expect(orbits[0]).toMatchObject({ satellite: 'R01', referenceMs: at, healthy: true, channel: 21 });
    expectClose(
      orbits[0]!.orbit(at),
      { x: 10627590.332, y: -9444220.70313, z: 21225728.0273 },
      { within: 1e-6 },
    );
    // A quarter of an hour later it has gone on at about 3.9 km/s in space, at the same height within what its orbit allows.
    const later = orbits[0]!.orbit(at + 900_000);
    expectClose(Math.hypot(later.x, later.y, later.z), 25_500_000, { within: 100_000 });
  });

  test('a record that is no orbit is told with its line, and the others are read', () => {
    const text = [
      ...head('3.05', 'N: GNSS NAV DATA', 'M'),
      ...e04.slice(0, 4),
      ...e04,
      ...e04.with(2, row(0, 0.9, 0, 5440)),
    ];
    const { orbits, rejected } = readNavigation(bytes(...text), 'a.nav');
    expect(orbits).toHaveLength(1);
    expect(rejected.map((r) => `${r.line} ${r.problem.message}`)).toEqual([
      '3 the record has not all elements of an orbit',
      '15 the elements are those of no navigation satellite',
    ]);
    expect(() => readNavigation(bytes(...head('3.05', 'OBSERVATION DATA', 'M')), 'a.nav')).toThrow(
      'no orbits',
    );
    expect(() => readNavigation(bytes('a,b', '1,2'), 'a.nav')).toThrow('does not begin as RINEX');
  });
});

// Record as copies of the almanac of week 963 print it.
const yuma = [
  '******** Week 963 almanac for PRN-01 ********',
  'ID:                         01',
  'Health:                     000',
  'Eccentricity:               0.7319927216E-002',
  'Time of Applicability(s):  589824.0000',
  'Orbital Inclination(rad):   0.9701853241',
  'Rate of Right Ascen(r/s):  -0.7714607059E-008',
  'SQRT(A)  (m 1/2):           5153.631836',
  'Right Ascen at Week(rad):  -0.7462947611E+000',
  'Argument of Perigee(rad):   0.614052959',
  'Mean Anom(rad):            -0.3114386965E+001',
  'Af0(s):                    -0.2765655518E-004',
  'Af1(s/s):                  -0.3637978807E-011',
  'week:                        963',
  '',
];

describe('YUMA', () => {
  test('an almanac gives the position of the almanac algorithm, in the week nearest to a known time', () => {
    const { orbits, rejected } = readYuma(bytes(...yuma), 'a.alm', Date.UTC(1998, 6, 1));
    expect(rejected).toEqual([]);
    const at = Date.UTC(1980, 0, 6) + 963 * 604_800_000 + 589_824_000;
    expect(orbits[0]).toMatchObject({ satellite: 'G01', healthy: true, referenceMs: at });
    expectClose(
      orbits[0]!.orbit(at),
      { x: -18883348.0414876, y: -13603667.00298592, z: -13196598.33116446 },
      { within: 1e-5 },
    );
    const [later] = readYuma(bytes(...yuma), 'a.alm', Date.UTC(2018, 2, 1)).orbits;
    expect(later!.referenceMs).toBe(at + 1024 * 604_800_000);
  });

  test('a record without one of its numbers is told; a file of something else is refused', () => {
    const { orbits, rejected } = readYuma(
      bytes(
        ...yuma,
        ...yuma.toSpliced(7, 1).map((l) => l.replace('01', '02')),
        ...yuma.with(3, 'Eccentricity: 0.9'),
      ),
      'a.alm',
      0,
    );
    expect(orbits).toHaveLength(1);
    expect(rejected.map((r) => formatProblem(r.problem).split('\n')[0])).toHaveLength(2);
    expect(rejected[0]!.problem).toMatchObject({
      message: 'the record has no number for SQRT(A)',
      at: { line: 17 },
    });
    expect(() => readYuma(bytes('a,b', '1,2'), 'a.alm', 0)).toThrow(ProblemError);
  });
});
