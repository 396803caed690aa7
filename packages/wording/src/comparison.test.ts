import type {
  DisplacementStatement,
  Snapshot,
  StationRecord,
  StreamView,
  TriggerRecord,
  WatchedRecord,
} from '@stillmark/records';
import { describe, expect, test } from 'vitest';
import { compareSnapshots, comparisonHead, comparisonSections, ZoneClock } from './index.ts';

const clock = new ZoneClock('UTC');

interface Size {
  readonly across?: number;
  readonly toward?: number;
  readonly acrossHalf?: number;
  readonly up?: number;
  readonly moved?: boolean;
  readonly rate?: number;
}

function displaced({
  across = 3,
  toward = 90,
  acrossHalf = 2.1,
  up = -1,
  moved,
  rate,
}: Size = {}): StreamView {
  const horizontal = {
    magnitude_mm: across,
    azimuthDeg: toward,
    plusMinus_mm: acrossHalf,
    distinguishable: moved === true,
    detectable_mm: 4,
  };
  const vertical = { value_mm: up, plusMinus_mm: 4.2, distinguishable: false, detectable_mm: 8 };
  return {
    stream: {
      name: 'main',
      kind: 'relative',
      base: 'B1',
      solution: 'epoch-wise',
      baselineLength_m: 500,
      heightDifference_m: 20,
    },
    statement: {
      kind: 'displacement',
      horizontal,
      up: vertical,
      ...(rate === undefined
        ? {}
        : { rate: { perDays: 30, horizontal: { ...horizontal, magnitude_mm: rate }, up: vertical } }),
    } as DisplacementStatement,
    reference: {
      from: '2026-03-01T00:00:00Z',
      to: '2026-03-29T00:00:00Z',
      committed: '2026-03-30T00:00:00Z',
    } as NonNullable<StreamView['reference']>,
    ties: [],
  };
}

const station = (
  id: string,
  view: Partial<StreamView>,
  more: Partial<StationRecord> = {},
): StationRecord => ({
  id,
  role: 'monitoring',
  on: 'slope',
  position: { latitudeDeg: 46.5, longitudeDeg: 9.25, height_m: 800.1, east_m: 0, north_m: 0, up_m: 0 },
  statement: { kind: 'no-data' },
  ties: [],
  others: [],
  ...view,
  ...more,
});

const held = station('B1', { statement: { kind: 'held' } }, { role: 'base' });

/** A snapshot with as much in it as is compared. */
function snapshot(change: Partial<Snapshot> = {}): Snapshot {
  return {
    producer: { name: 'stillmark', version: '0.1.0' },
    asOf: '2026-05-10T00:00:00Z',
    project: {
      title: 'Fellmoor slope',
      timeZone: 'UTC',
      frame: { name: 'ITRF2020', ellipsoid: 'GRS 1980' },
      processingIntervalMs: 86_400_000,
      requirement: { horizontal_mm: 8, up_mm: 15 },
      responsible: [{ role: 'measurement', name: 'survey office' }],
      events: [],
    },
    settings: {
      confidence: 0.95,
      familySignificance: 0.05,
      power: 0.8,
      windowMs: 21_600_000,
      statementMs: 86_400_000,
      rateMs: 30 * 86_400_000,
    },
    network: { common: [], closures: [], surveys: [], decisions: [], held: ['B1'], pairs: [] },
    stations: [held, station('S1', displaced())],
    sensors: [],
    triggers: [],
    inputs: [
      { path: 'project.yaml', sha256: 'a' },
      { path: 'store/epochs/month=2026-05/epochs.parquet', sha256: 'b', rows: 1200 },
    ],
    doubts: [],
    ...change,
  } as unknown as Snapshot;
}

const later = (change: Partial<Snapshot> = {}): Snapshot =>
  snapshot({ asOf: '2026-06-10T00:00:00Z', ...change });

/** Sentences by section, with plain spaces. */
function told(before: Snapshot, after: Snapshot): Record<string, string[]> {
  const sections = comparisonSections(compareSnapshots(before, after), clock);
  return Object.fromEntries(
    sections.map(({ title, sentences }) => [title, sentences.map((s) => s.replaceAll('\u202f', ' '))]),
  );
}

/** What is told where one station is another. */
const ofStations = (before: StationRecord[], after: StationRecord[]): Record<string, string[]> =>
  told(snapshot({ stations: [held, ...before] }), later({ stations: [held, ...after] }));

test('two snapshots that state the same differ in nothing but their time', () => {
  expect(told(snapshot(), later())).toEqual({});
  expect(comparisonHead(compareSnapshots(snapshot(), later()), clock)).toEqual([
    'Fellmoor slope as of 10 June 2026, 00:00 UTC, told against 10 May 2026, 00:00 UTC.',
  ]);
});

test('another project, a later first and another version are told first', () => {
  const other = snapshot({
    project: { ...snapshot().project, title: 'Other' },
    producer: { name: 'stillmark', version: '0.2.0' },
  });
  expect(comparisonHead(compareSnapshots(later(), other), clock)).toEqual([
    'Other as of 10 May 2026, 00:00 UTC, told against 10 June 2026, 00:00 UTC.',
    'The first is of another project or title: Fellmoor slope.',
    'The second is the older one.',
    'Computed by stillmark 0.2.0, before by stillmark 0.1.0: figures may differ by the method alone.',
  ]);
});

describe('states of stations', () => {
  test('one that moved now, with its sizes', () => {
    expect(
      ofStations(
        [station('S1', displaced())],
        [station('S1', displaced({ across: 11.42, toward: 142.8, moved: true }))],
      ),
    ).toEqual({
      States: [
        'S1: moved, before no movement distinguishable. Horizontally 11.4 mm ± 2.1 mm toward 143° (before 3.0 mm ± 2.1 mm toward 90°), now distinguishable.',
      ],
    });
  });

  test('silence, and why nothing can be stated', () => {
    const silent = station('S1', { ...displaced(), statement: { kind: 'no-data' } });
    expect(ofStations([station('S1', displaced({ moved: true }))], [silent])['States']).toEqual([
      'S1: no data, before moved. Horizontally nothing is stated any more (before 3.0 mm ± 2.1 mm toward 90°).',
    ]);
    const mute = (reason: string): StationRecord =>
      station('S1', { ...displaced(), statement: { kind: 'not-statable', reason } });
    expect(ofStations([mute('x')], [mute('y')])).toEqual({
      Sizes: ['S1: cannot be stated, because y, before cannot be stated, because x.'],
    });
    expect(ofStations([mute('x')], [mute('x')])).toEqual({});
  });

  test('stations that came and went', () => {
    expect(ofStations([station('S1', displaced({ moved: true }))], [station('S2', displaced())])).toEqual({
      States: ['S2: new; no movement distinguishable.', 'S1: not there any more; before, moved.'],
    });
  });

  test('a station of several streams is told in each, by its name', () => {
    const second = (size: Size): StreamView => {
      const view = displaced(size);
      return { ...view, stream: { ...view.stream!, name: 'second' } };
    };
    const both = (size: Size): StationRecord => station('S1', displaced(), { others: [second(size)] });
    expect(ofStations([both({})], [both({ moved: true })])).toEqual({
      States: [
        'S1 in stream second: moved, before no movement distinguishable. Horizontally 3.0 mm ± 2.1 mm toward 90° (before 3.0 mm ± 2.1 mm toward 90°), now distinguishable.',
      ],
    });
  });

  test('a base that comes into doubt takes its stations with it, and gives them back', () => {
    const decided = (finding: 'moving' | 'stable'): Snapshot =>
      later({
        network: {
          ...snapshot().network,
          decisions: [{ base: 'B1', finding, by: 'engineer', at: '2026-06-01T00:00:00Z', why: 'survey' }],
        },
      });
    expect(told(snapshot(), decided('moving'))).toMatchObject({
      States: ['S1: in doubt, before no movement distinguishable.'],
      Bases: ['B1 is in doubt, and is new in it.'],
      Configuration: ['Decision of 2026-06-01T00:00:00Z on B1, new: moving, by engineer: survey.'],
    });
    expect(told(decided('moving'), decided('stable'))).toMatchObject({
      States: ['S1: no movement distinguishable, before in doubt.'],
      Bases: ['B1 is in doubt no longer.'],
    });
    expect(told(decided('moving'), decided('moving'))).toEqual({});
    const shifted = {
      ...decided('moving'),
      stations: [held, station('S1', displaced({ across: 9, moved: true }))],
    };
    expect(told(decided('moving'), shifted)).toEqual({
      Sizes: ['S1: in doubt, as before; other sizes, which are in doubt.'],
    });
  });

  test('a base is seen from another one: which of the two moves is not known', () => {
    const base = (size: Size): StationRecord => station('B2', displaced(size), { role: 'base' });
    expect(ofStations([base({})], [base({ across: 9, moved: true })])).toEqual({
      States: [
        'B2: seen from B1, seems to have moved, before no movement distinguishable. Horizontally 9.0 mm ± 2.1 mm toward 90° (before 3.0 mm ± 2.1 mm toward 90°), now distinguishable.',
      ],
    });
  });

  test('stations of which the same is said are told together, those of one stream', () => {
    const silent = (id: string): StationRecord =>
      station(id, { ...displaced(), statement: { kind: 'no-data' } });
    const ids = ['S1', 'S2', 'S3'];
    expect(
      ofStations(
        ids.map((id) => station(id, displaced())),
        ids.map(silent),
      ),
    ).toEqual({
      States: ['S1, S2 and S3: no data, before no movement distinguishable.'],
    });
  });

  test('another reference position: the sizes are not of one movement', () => {
    const again = {
      ...displaced(),
      reference: {
        from: '2026-04-01T00:00:00Z',
        to: '2026-04-29T00:00:00Z',
        committed: '2026-05-02T00:00:00Z',
      } as NonNullable<StreamView['reference']>,
    };
    expect(ofStations([station('S1', displaced())], [station('S1', again)])).toEqual({
      Sizes: [
        'S1: no movement distinguishable, as before. Its reference position is another, of 1 to 28 April 2026, committed on 2 May 2026 (before of 1 to 28 March 2026, committed on 30 March 2026): the sizes are not of one movement.',
      ],
    });
  });
});

describe('sizes', () => {
  const sizes = (before: Size, after: Size): string[] =>
    ofStations([station('S1', displaced(before))], [station('S1', displaced(after))])['Sizes'] ?? [];

  test('that are printed alike, or differ by less than half of their last digit, are the same', () => {
    expect(sizes({ across: 3.01 }, { across: 2.99 })).toEqual([]);
    // Printed 3.0 and 3.1, a hundredth of a millimetre apart.
    expect(sizes({ across: 3.045 }, { across: 3.055 })).toEqual([]);
    expect(sizes({ up: -1.02 }, { up: -0.98 })).toEqual([]);
    expect(sizes({ acrossHalf: 2.149 }, { acrossHalf: 2.151 })).toEqual([]);
    // A direction of next to nothing is none.
    expect(sizes({ across: 0.02, toward: 10 }, { across: 0.02, toward: 190 })).toEqual([]);
  });

  test('are told where they differ by more, with what they were', () => {
    const moved = (before: Size, after: Size): string =>
      sizes({ ...before, moved: true }, { ...after, moved: true })[0]!;
    expect(moved({}, { toward: 100 })).toContain('toward 100° (before 3.0 mm ± 2.1 mm toward 90°)');
    expect(moved({}, { acrossHalf: 2.4 })).toContain('3.0 mm ± 2.4 mm toward 90°');
    expect(sizes({ moved: true }, { moved: true, across: 5 })).toEqual([
      'S1: moved, as before. Horizontally 5.0 mm ± 2.1 mm toward 90° (before 3.0 mm ± 2.1 mm toward 90°).',
    ]);
  });

  test('that are distinguishable in neither are in the record, and told in a word', () => {
    for (const after of [{ across: 3.2 }, { toward: 100 }, { up: 1 }, { acrossHalf: 2.4 }, { rate: 2 }])
      expect(sizes({}, after)).toEqual([
        'S1: no movement distinguishable, as before; other sizes, distinguishable neither before nor now.',
      ]);
    const record = compareSnapshots(
      snapshot(),
      later({ stations: [held, station('S1', displaced({ up: 1 }))] }),
    ).stations;
    expect(record.map(({ figures }) => figures)).toEqual([
      [
        {
          figure: 'up',
          before: { value_mm: -1, plusMinus_mm: 4.2, distinguishable: false, detectable_mm: 8 },
          after: { value_mm: 1, plusMinus_mm: 4.2, distinguishable: false, detectable_mm: 8 },
        },
      ],
    ]);
  });

  test('of rates', () => {
    const moved = (rate?: number): Size => ({ moved: true, ...(rate === undefined ? {} : { rate }) });
    expect(sizes(moved(), moved(4))[0]).toContain(
      'Its rate horizontally 4.0 mm ± 2.1 mm toward 90° in 30 days (before, nothing was stated).',
    );
    expect(sizes(moved(4), moved(6))[0]).toContain('(before 4.0 mm ± 2.1 mm toward 90° in 30 days)');
  });

  test('told from the bases that stand still', () => {
    const { horizontal, up } = displaced().statement as DisplacementStatement;
    const onto = (value_mm: number): StationRecord =>
      station('S1', {
        ...displaced(),
        ontoStable: {
          stable: ['B2'],
          horizontal,
          up: { ...up, value_mm, distinguishable: value_mm > 5 },
        } as never,
      });
    expect(ofStations([onto(1)], [onto(7)])['Sizes']).toEqual([
      'S1: no movement distinguishable, as before. From the bases that stand still, vertically 7.0 mm ± 4.2 mm up (before 1.0 mm ± 4.2 mm up), now distinguishable.',
    ]);
  });
});

describe('levels', () => {
  const state = (level: number, condition: 'measured' | 'no-data' = 'measured') => ({ condition, level });
  const watched = (now: WatchedRecord['state'], changes: [string, number, number][] = []): WatchedRecord => ({
    of: 'S1',
    stream: 'main',
    state: now,
    changes: changes.map(([at, from, to]) => ({ at, from: state(from), to: state(to), made: [] })),
  });
  const trigger = (...all: WatchedRecord[]): TriggerRecord => ({
    name: 'creep',
    quantity: 'horizontal',
    figures: 'raw',
    unit: 'mm',
    windowMs: 86_400_000,
    basis: 'confident',
    side: 'either',
    persistence: { needed: 2, of: 3 },
    release: 0.8,
    missing: { means: 'passed over', noDataAfterMs: 3 * 86_400_000 },
    levels: [
      { name: 'attention', at: 8, responsible: 'measurement' },
      { name: 'alert', at: 15, responsible: 'owner' },
    ],
    watched: all,
  });
  const levels = (before: TriggerRecord[], after: TriggerRecord[]): Record<string, string[]> =>
    told(snapshot({ triggers: before }), later({ triggers: after }));

  test('that are reached and left', () => {
    expect(levels([trigger(watched(state(0)))], [trigger(watched(state(1)))])).toEqual({
      Levels: ['S1, creep: at level 1 (attention, 8 mm); before, no level reached.'],
    });
    expect(levels([trigger(watched(state(1)))], [trigger(watched(state(1, 'no-data')))])).toEqual({
      Levels: ['S1, creep: no data, at level 1 (attention, 8 mm); before, at level 1 (attention, 8 mm).'],
    });
    expect(levels([trigger(watched(state(1)))], [trigger(watched(state(1)))])).toEqual({});
  });

  test('that were reached in between and left again', () => {
    const changes: [string, number, number][] = [
      ['2026-05-01T00:00:00Z', 0, 2],
      ['2026-05-02T00:00:00Z', 2, 0],
      ['2026-05-20T00:00:00Z', 0, 1],
      ['2026-05-22T00:00:00Z', 1, 0],
    ];
    expect(levels([trigger(watched(state(0)))], [trigger(watched(state(0), changes))])).toEqual({
      Levels: ['S1, creep: no level reached, as before; in between, at level 1 (attention, 8 mm).'],
    });
    expect(levels([trigger(watched(state(1)))], [trigger(watched(state(1), changes))])).toEqual({});
  });

  test('that are watched newly or not any more, or stand at another size', () => {
    const one = trigger(watched(state(1)));
    expect(levels([], [one])['Levels']).toEqual(['S1, creep: watched newly; at level 1 (attention, 8 mm).']);
    expect(levels([one], [])['Levels']).toEqual([
      'S1, creep: not watched any more; before, at level 1 (attention, 8 mm).',
    ]);
    const raised = { ...one, levels: [{ ...one.levels[0]!, at: 10 }, one.levels[1]!] };
    expect(levels([one], [raised])['Configuration']).toEqual([
      'Level 1 of creep: attention, 10 mm, for measurement; before, attention, 8 mm, for measurement.',
    ]);
  });
});

test('configuration: every setting with its unit, before and now', () => {
  const { project, settings, stations } = snapshot();
  const [b1, s1] = stations as [StationRecord, StationRecord];
  const after = later({
    project: {
      ...project,
      requirement: { horizontal_mm: 5, up_mm: 15, accuracy: { horizontal_mm: 3, up_mm: 6 } },
      processingIntervalMs: 3_600_000,
      responsible: [],
      events: [{ at: '2026-05-20T10:00:00Z', what: 'antenna exchanged', kind: 'instrument', station: 'S1' }],
    },
    settings: { ...settings, confidence: 0.99 },
    stations: [
      { ...b1, position: { ...b1.position, latitudeDeg: 46.500_000_01 } },
      { ...s1, antenna: 'Type 2', stream: { ...s1.stream!, solution: 'filtered' } },
    ],
    sensors: [{ name: 'air', what: 'temperature', unit: '°C', readings: 3 }],
  });
  expect(told(snapshot(), after)['Configuration']).toEqual([
    'Time between processing runs: 1 h; before, 24 h.',
    'Smallest horizontal movement that must be found: 5 mm; before, 8 mm.',
    'Largest half-width of horizontal intervals, new: 3 mm.',
    'Largest half-width of intervals up or down, new: 6 mm.',
    'Probability of intervals: 99 %; before, 95 %.',
    'Latitude of B1: 46.50000001°; before, 46.5°.',
    'Antenna of S1, new: Type 2.',
    'Stream main: relative from B1, filtered; before, relative from B1, epoch-wise.',
    'Sensor air, new: temperature in °C.',
    'Event of 2026-05-20T10:00:00Z (antenna exchanged), new: instrument, of S1.',
    'Responsible as measurement, gone: survey office.',
  ]);
});

test('inputs by their hashes, and a project file that is another in nothing that is compared', () => {
  const after = later({
    inputs: [
      { path: 'project.yaml', sha256: 'c' },
      { path: 'store/epochs/month=2026-06/epochs.parquet', sha256: 'd', rows: 1 },
    ],
  });
  expect(told(snapshot(), after)).toEqual({
    Configuration: ['project.yaml is another, in nothing that is compared here.'],
    Inputs: [
      'project.yaml: other bytes.',
      'store/epochs/month=2026-06/epochs.parquet: new, 1 row.',
      'store/epochs/month=2026-05/epochs.parquet: not there any more, 1200 rows.',
    ],
  });
  const more = later({
    inputs: [
      snapshot().inputs[0]!,
      { path: 'store/epochs/month=2026-05/epochs.parquet', sha256: 'e', rows: 1250 },
    ],
  });
  expect(told(snapshot(), more)).toEqual({
    Inputs: ['store/epochs/month=2026-05/epochs.parquet: other bytes, 1250 rows, before 1200.'],
  });
});

test('doubts that are new, and those that are settled', () => {
  const doubt = (message: string): Snapshot['doubts'][number] => ({
    code: 'INPUT_POSITION',
    severity: 'warning',
    message,
  });
  expect(
    told(snapshot({ doubts: [doubt('x'), doubt('y')] }), later({ doubts: [doubt('y'), doubt('z')] })),
  ).toEqual({ Doubts: ['New: z.', 'No longer: x.'] });
});
