import { formatProblem, formatProblems } from '@stillmark/problems';
import { describe, expect, test } from 'vitest';
import { projectJsonSchema, readProject, referencePositions, type Commitment } from './index.ts';

const good = `stillmark: 1
title: A slope
timeZone: Europe/Vienna
frame: { name: ITRF2020, ellipsoid: GRS 1980, epoch: "2026.0" }
processingInterval: 24 h
requirement: { horizontal: 10 mm, up: 1.5 cm }
stations:
  - id: B1
    role: base
    on: bedrock
    position: { latitude: 46.1, longitude: 9.2, height: 812 }
  - id: S1
    role: monitoring
    on: the slope
    installed: 2026-02-27T10:00:00+01:00
    position: { latitude: 46.101, longitude: 9.201, height: 780 }
streams:
  - name: main
    kind: relative
    base: B1
    solution: epoch-wise
    files: [positions/*.csv]
    columns: { station: station, time: time, x: x, y: y, z: z, xx: cxx, xy: cxy, xz: cxz, yy: cyy, yz: cyz, zz: czz }
`;

const told = (text: string): string => formatProblems(readProject(text).problems);

describe('project file', () => {
  test('a good file is read, with units and times converted and defaults filled', () => {
    const { value, problems } = readProject(good);
    expect(problems).toEqual([]);
    expect(value).toMatchObject({
      processingInterval: 86_400_000,
      requirement: { horizontal: 0.01, up: 0.015 },
      statements: { confidence: 0.95, window: 21_600_000, present: 86_400_000 },
      streams: [{ timeScale: 'UTC' }],
    });
    expect(value!.stations[1]!.installed).toBe(Date.parse('2026-02-27T09:00:00Z'));
  });

  test('an unknown role is told with place, the line, a pointer and what would be right', () => {
    const [only, ...others] = readProject(good.replace('role: monitoring', 'role: monitor')).problems;
    expect(others).toEqual([]);
    expect(formatProblem(only!)).toBe(
      [
        'project.yaml:13:11 error PROJECT_VALUE',
        "  role of station 2 'monitor' is not known",
        '  13 |     role: monitor',
        '     |           ^',
        '  would be right: base or monitoring',
      ].join('\n'),
    );
  });

  test('a station may take over what another one has', () => {
    const { value } = readProject(
      good
        .replace('  - id: S1', '  - &first\n    id: S1')
        .replace('streams:', '  - { <<: *first, id: S2 }\nstreams:'),
    );
    expect(value!.stations[2]).toMatchObject({ id: 'S2', role: 'monitoring', on: 'the slope' });
  });

  test('sensors, axes, outline, accuracy and events are read with their defaults', () => {
    const { value, problems } = readProject(
      good
        .replace(
          'up: 1.5 cm }',
          'up: 1.5 cm, accuracy: { horizontal: 4 mm, up: 8 mm } }\naxes: { longitudinalAzimuth: 72 }\noutline: site.geojson',
        )
        .concat(
          'sensors:\n  - { name: level, what: reservoir level, unit: m, files: [a.csv], columns: { time: t, value: v } }\n',
          'events:\n  - { at: 2026-03-01T00:00:00Z, what: a visit }\n  - { at: 2026-03-02T00:00:00Z, what: knocked, kind: instrument, station: S1 }\n',
        ),
    );
    expect(problems).toEqual([]);
    expect(value).toMatchObject({
      requirement: { accuracy: { horizontal: 0.004 } },
      axes: { longitudinalAzimuth: 72 },
      sensors: [{ timeScale: 'UTC' }],
      events: [{ kind: 'note' }, { kind: 'instrument' }],
      streams: [{ units: { position: 'm', covariance: 'm2' } }],
      statements: { rate: 30 * 86_400_000 },
    });
  });

  const second = good.replace(
    'streams:\n',
    'streams:\n  - { name: Main, kind: relative, base: B1, solution: epoch-wise, files: [b.csv], columns: { station: s, time: t, x: x, y: y, z: z, xx: a, xy: b, xz: c, yy: d, yz: e, zz: f } }\n',
  );
  const threeStations = good.replace(
    'streams:',
    '  - { id: S2, role: monitoring, on: rock, position: { latitude: 9.2, longitude: 46.1, height: 780 } }\nstreams:',
  );
  const events = (list: string): string => `${good}events:\n${list}`;
  test.each<[string, string, RegExp]>([
    [
      'two streams of one name',
      second,
      /PROJECT_DUPLICATE[^]*stream main is defined twice, first in line 18/,
    ],
    [
      'an absolute stream without its plate',
      good.replace('kind: relative\n    base: B1', 'kind: absolute'),
      /:19:11 error PROJECT_VALUE[^]*move with their plate[^]*name: EURA/,
    ],
    [
      'an absolute stream with a base',
      good.replace(
        'kind: relative',
        'kind: absolute\n    plate: { model: ITRF2020, name: EURA, epoch: 2026 }',
      ),
      /is absolute: it has no held base/,
    ],
    [
      'the plate of a relative stream',
      good.replace('    base: B1', '    base: B1\n    plate: { model: ITRF2020, name: EURA, epoch: 2026 }'),
      /relative to a held base: base and station move with the plate together/,
    ],
    [
      'a plate motion model of another frame',
      good
        .replace('name: ITRF2020', 'name: ETRF2000')
        .replace(
          'kind: relative\n    base: B1',
          'kind: absolute\n    plate: { model: ITRF2020, name: EURA, epoch: 2026 }',
        ),
      /plate motion model of ITRF2020 does not hold in the frame ETRF2000[^]*ITRF2020, IGS20/,
    ],

    [
      'a relative stream without base',
      good.replace('    base: B1\n', ''),
      /does not say which base is held[^]*B1/,
    ],
    [
      'latitude and longitude exchanged',
      threeStations,
      /:17:\d+ error PROJECT_VALUE[^]*S2 stands more than 100 km[^]*the other way round/,
    ],
    [
      'a station that prefers a stream that is not there',
      good.replace('    role: monitoring', '    role: monitoring\n    stream: other'),
      /S1 prefers stream other, which is not defined[^]*main/,
    ],
    [
      'a base that prefers the stream in which it is held',
      good.replace('    role: base', '    role: base\n    stream: main'),
      /B1 is held in stream main/,
    ],
    [
      'an instrument event without station',
      events('  - { at: 2026-03-01T00:00:00Z, what: x, kind: instrument }\n'),
      /event 1 is of an instrument, but names no station/,
    ],
    [
      'a base event of a monitoring station',
      events('  - { at: 2026-03-01T00:00:00Z, what: x, kind: base, station: S1 }\n'),
      /event 1 is of a base, but names none[^]*B1/,
    ],
    [
      'an event of a stream that is not there',
      events('  - { at: 2026-03-01T00:00:00Z, what: x, kind: processing, stream: y }\n'),
      /event 1 names y, which is not a stream/,
    ],
    [
      'a kind of event that is not known',
      events('  - { at: 2026-03-01T00:00:00Z, what: x, kind: instrumental }\n'),
      /PROJECT_VALUE[^]*structural, instrument/,
    ],
    [
      'a window of a second',
      `${good}statements: { window: 1 s }\n`,
      /window of statements is shorter than 10 min/,
    ],
    [
      'a rate over less than eight windows',
      `${good}statements: { rate: 1 d }\n`,
      /rate of statements is not a whole number of windows, eight or more/,
    ],
    ['a length of a hundred digits', good.replace('10 mm', `${'9'.repeat(100)} mm`), /is not a length/],
    ['a chance of 1e-17', `${good}statements: { familySignificance: 1e-17 }\n`, /familySignificance/],
  ])('%s is told with its place', (_, text, expected) => expect(told(text)).toMatch(expected));

  test('all mistakes are told at once, each in its place', () => {
    const text = good
      .replace('timeZone: Europe/Vienna', 'timezone: Europe/Vienna')
      .replace('horizontal: 10 mm', 'horizontal: 10')
      .replace('latitude: 46.101', 'latitude: 146.101')
      .replace('10:00:00+01:00', '10:00:00')
      .replace('processingInterval: 24 h\n', '');
    expect(told(text)).toBe(`project.yaml:1:1 error PROJECT_VALUE
  processingInterval is missing
  1 | stillmark: 1
    | ^
  would be right: such as 30 min, 6 h or 14 d

project.yaml:3:1 error PROJECT_KEY
  the project file has no key 'timezone'
  3 | timezone: Europe/Vienna
    | ^
  would be right: timeZone

project.yaml:5:28 error PROJECT_VALUE
  horizontal of requirement is not a text
  5 | requirement: { horizontal: 10, up: 1.5 cm }
    |                            ^
  would be right: such as 10 mm or 1.5 cm

project.yaml:14:16 error PROJECT_VALUE
  installed of station 2: '2026-02-27T10:00:00' has no time zone
  14 |     installed: 2026-02-27T10:00:00
     |                ^
  would be right: such as 2026-03-01T06:00:00Z or 2026-03-01T07:00:00+01:00

project.yaml:15:27 error PROJECT_VALUE
  latitude of position of station 2 '146.101' is out of range
  15 |     position: { latitude: 146.101, longitude: 9.201, height: 780 }
     |                           ^
  would be right: at most 90`);
  });

  test('a station defined twice, also in other case, is told with the first place', () => {
    expect(told(good.replace('id: S1', 'id: b1'))).toContain('station b1 is defined twice, first in line 8');
  });

  test('a stream processed from what is no base is told with the bases there are', () => {
    expect(told(good.replace('base: B1', 'base: S1'))).toContain('S1, which is a monitoring station');
    expect(told(good.replace('base: B1', 'base: B9'))).toMatch(
      /B9, which is not a station[^]*would be right: B1/,
    );
  });

  test('a window that does not divide a day is refused', () => {
    expect(told(`${good}statements: { window: 5 h, present: 24 h }\n`)).toMatch(
      /does not divide a day[^]*whole number of windows/,
    );
  });

  test.each([
    ['a tab', good.replace('  - id: B1', '\t- id: B1'), 'PROJECT_SYNTAX'],
    ['a key given twice', good.replace('title: A slope', 'title: A slope\ntitle: Another'), 'stands twice'],
    ['an unclosed bracket', good.replace('{ name: ITRF2020,', '[ name: ITRF2020,'), 'PROJECT_SYNTAX'],
    ['an empty file', '', 'title is missing'],
    [
      'aliases that multiply',
      `a: &a [x, x, x, x, x, x, x, x, x]\n${['b', 'c', 'd', 'e', 'f'].map((k, i) => `${k}: &${k} [${new Array(9).fill(`*${'abcde'[i]}`).join(', ')}]`).join('\n')}\n`,
      'aliases cannot be resolved',
    ],
    ['a list where a mapping belongs', '- a\n- b\n', 'mapping of keys and values'],
  ])('%s is told, not thrown', (_, text, expected) => {
    expect(told(text)).toContain(expected);
  });

  test('the JSON Schema describes what may be written', () => {
    const schema = projectJsonSchema() as {
      properties: Record<string, { type?: string; description?: string }>;
      required: string[];
    };
    expect(schema.properties['processingInterval']).toMatchObject({ type: 'string' });
    expect(schema.required).toContain('stations');
    expect(schema.required).not.toContain('events');
  });
});

describe('reference positions', () => {
  const project = readProject(good).value!;
  const commitment: Commitment = {
    station: 'S1',
    stream: 'main',
    from: '2026-03-01T00:00:00Z',
    to: '2026-03-29T00:00:00Z',
    by: 'A. Surveyor: head of survey',
    committed: '2026-03-30T08:00:00Z',
    position: { x: 4_373_283.1234, y: 708_272.5, z: 4_573_123.875 },
    evidence: {
      days: 28,
      windows: 112,
      expectedWindows: 112,
      epochs: 672,
      scatter_mm: { east: 1.1, north: 1.2, up: 2.9 },
      store: 'ab',
    },
  };

  test('what is appended is read back, and what stood before is kept to the letter', () => {
    const first = referencePositions.append(undefined, commitment);
    const noted = `${first}  # checked by levelling on 2 April\n`;
    const second = referencePositions.append(noted, {
      ...commitment,
      by: 'B. Second',
      despite: 'the gap of 3 March is explained',
    });
    expect(second.startsWith(noted)).toBe(true);
    const { value, problems } = referencePositions.read(second, project, 'reference-positions.yaml');
    expect(problems).toEqual([]);
    expect(value!.map((c) => c.by)).toEqual(['A. Surveyor: head of survey', 'B. Second']);
    expect(value![0]).toEqual(commitment);
  });

  test('a station that is not in the project is told with its place', () => {
    const text = referencePositions.append(undefined, { ...commitment, station: 'X9' });
    expect(
      formatProblems(referencePositions.read(text, project, 'reference-positions.yaml').problems),
    ).toMatch(/reference-positions\.yaml:5:14 error PROJECT_REFERENCE[^]*X9/);
  });
});
