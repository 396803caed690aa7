import type { PlanRecord, ProjectRecord } from '@stillmark/records';
import { describe, expect, test } from 'vitest';
import {
  communicationSentence,
  displacementTestSentence,
  failureText,
  figuresSentence,
  placementSentences,
  powerSentence,
  skySentence,
  startSentence,
  ZoneClock,
  zoneRuleSentence,
  processingSentence,
  specificationSentence,
  storageSentence,
} from './index.ts';

const clock = new ZoneClock('UTC');
const nothing: PlanRecord = {
  figures: [],
  stations: [],
  zones: [],
  failures: [],
  power: [],
  communications: [],
  storage: [],
  checklist: [],
  displacementTests: [],
};
const plain = (text: string | undefined): string | undefined => text?.replaceAll(/[\u202F\u00A0]/g, ' ');
const start = { wanted: '2027-05-01', earliest: '2027-04-20', roomDays: 11, referenceDays: 14, ready: '2027-03-01' }; // prettier-ignore

test('nothing planned, nothing said', () => {
  expect(startSentence(nothing)).toBeUndefined();
  expect(figuresSentence(nothing, {} as ProjectRecord)).toBeUndefined();
  expect(skySentence(nothing, clock)).toBeUndefined();
  expect(placementSentences(nothing)).toEqual([]);
});

test('the start: room that is left, and what is missing', () => {
  expect(startSentence({ ...nothing, start })).toBe(
    'The first displacement is wanted for 1 May 2027, 11 days after installation and a reference period of 14 days end at the earliest (20 April 2027).',
  );
  const late = { ...start, earliest: '2027-05-03', roomDays: -2, ready: '2027-04-15', late: 'antennas' };
  expect(startSentence({ ...nothing, start: late })).toBe(
    'The start cannot be met: the first displacement is wanted for 1 May 2027, 2 days before installation and a reference period of 14 days can end (3 May 2027). What comes last is antennas, on 15 April 2027, after the installation was to begin.',
  );
});

test('figures: small enough, or not', () => {
  const figures = [30, 365].map((afterDays) => ({ afterDays, horizontalPlusMinus_mm: 2, horizontalDetectable_mm: afterDays === 30 ? 4 : 6, upPlusMinus_mm: 3, upDetectable_mm: 9 })); // prettier-ignore
  const asked = (horizontal_mm: number): ProjectRecord =>
    ({ requirement: { horizontal_mm, up_mm: 10 } }) as ProjectRecord;
  const say = (mm: number): string | undefined =>
    plain(figuresSentence({ ...nothing, figures, noiseSource: 'a like network' }, asked(mm)));
  expect(say(6)).toContain(
    'is horizontally small enough (4.0 mm after 30 days and 6.0 mm after 365; asked are 6.0 mm)',
  );
  expect(say(5)).toContain(
    '(a like network) the smallest movement that will be found is horizontally larger than is asked',
  );
  expect(say(5)).toContain('up or down small enough');
});

describe('placement', () => {
  const station = (id: string, role: 'base' | 'monitoring', clearance_m: number): PlanRecord['stations'][number] => ({ id, role, clearance_m, baselines: [] }); // prettier-ignore
  test('one base can tell nothing of itself, two not which of them moves', () => {
    const say = (bases: number): string =>
      placementSentences({ ...nothing, geometry: { bases, largestGapDeg: 200, surrounded: false } })[0]!;
    expect(say(1)).toContain('looks like a movement of everything');
    expect(say(2)).toContain('without saying which of them moves');
    expect(say(3)).toBe('3 bases, which do not surround what is monitored (the largest open angle is 200°).');
  });
  test('bases inside or too near, stations outside', () => {
    const stations = [station('B1', 'base', -5), station('B2', 'base', 20), station('B3', 'base', 90), station('T1', 'monitoring', 3), station('T2', 'monitoring', -40)]; // prettier-ignore
    expect(placementSentences({ ...nothing, stations, clearance_m: 50 }).map(plain)).toEqual([
      'B1 is a base inside the zone of influence: what moves the zone moves it.',
      'B2 stands nearer to the zone than the 50 m that are asked.',
      'T1 is to be monitored and stands outside of the zone.',
    ]);
    expect(placementSentences({ ...nothing, stations: stations.slice(2, 3) })).toEqual([
      'All bases stand clear of the zone of influence.',
    ]);
    expect(placementSentences({ ...nothing, stations: stations.slice(4) })).toEqual([
      'All monitoring stations stand in the zone of influence.',
      'There is no base: nothing of the network itself says whether all of it moves.',
    ]);
  });
  test('reach by a rule', () =>
    expect(plain(zoneRuleSentence({ what: 'tunnel', kind: 'trough', reach_m: 27.4 }))).toBe(
      'tunnel: the ground may move up to 27 m beside its axis, by a trough of the form of a bell curve (Peck 1969).',
    ));
});

test('what is lost where something fails', () => {
  const base = { of: 'B1', kind: 'base' as const };
  expect(failureText({ ...base, streams: [], weakened: [], dark: [], basesLeft: 1 })).toBe(
    'no station goes dark; 1 base left',
  );
  expect(failureText({ ...base, streams: ['a'], weakened: ['T1'], dark: ['T2', 'T3'], basesLeft: 0 })).toBe(
    'lost: stream a; dark: T2 and T3; told by fewer streams: T1; no base is left',
  );
});

test('power and communications: enough, and not', () => {
  const power = { of: 'mast', load_W: 5, sunHours: 1, autonomyDays: 5, energy_Wh: 120, array_W: 176.4, battery_Ah: 125, voltage: 12 }; // prettier-ignore
  expect(plain(powerSentence(power))).toBe(
    'mast: 5 W take 120 Wh a day; with 1.0 h of full sun in the worst month and 5 days without any that is an array of 177 W and a battery of 125 Ah at 12 V.',
  );
  const installed = { array_W: 200, battery_Ah: 100, arrayMargin: 1.13, autonomyDays: 4 };
  expect(plain(powerSentence({ ...power, installed }))).toContain(
    '113 % of the array and 4.0 days, not enough.',
  );
  const line = { of: 'account', stations: 3, needed_MB: 450 };
  expect(plain(communicationSentence({ ...line, plan_MB: 500 }))).toBe(
    'account: 3 stations send 450 MB in 30 days; the plan allows 500 MB, 10 % to spare.',
  );
  expect(plain(communicationSentence({ ...line, plan_MB: 400 }))).toContain('400 MB, not enough.');
});

test('a known movement: not reported yet, shown, not shown', () => {
  const set = { east_mm: 5, north_mm: 0, up_mm: -3 };
  const done = { station: 'T1', at: '2027-03-02T10:00:00Z', set, by: 'survey office' };
  expect(plain(displacementTestSentence(done, clock))).toBe(
    'T1 was moved by 5.0, 0.0, −3.0 mm (east, north, up) on 2 March 2027, by survey office; nothing can be told of it: that takes four days of positions on each side, without another step among them.',
  );
  const reported = { ...set, horizontalPlusMinus_mm: 1.2, upPlusMinus_mm: 2.5 };
  expect(
    plain(displacementTestSentence({ ...done, reported: { ...reported, agrees: true } }, clock)),
  ).toContain('± 1.2 mm horizontally and 2.5 mm up: the chain shows it.');
  expect(displacementTestSentence({ ...done, reported: { ...reported, agrees: false } }, clock)).toContain(
    'the chain does not show it.',
  );
});

test('the sky: all see enough, or who sees least', () => {
  const seen = (within: number) => ({ horizon: [], within, fewest: 5, mean: 12, worst: { from: '2027-03-01T09:00:00Z', within: 0.2 }, satellites: [], pdop: [] }); // prettier-ignore
  const sky = { from: '2027-03-01T00:00:00Z', spanMs: 86_400_000, stepMs: 300_000, drawnStepMs: 300_000, maskDeg: 10, knownShare: 1, limits: { satellites: 6, pdop: 4 }, constellations: [{ system: 'GPS', satellites: 31 }], tracks: [] }; // prettier-ignore
  const say = (...shares: number[]): string | undefined =>
    plain(skySentence({ ...nothing, sky, stations: shares.map((within, i) => ({ id: `S${i + 1}`, role: 'monitoring', baselines: [], sky: seen(within) })) }, clock)); // prettier-ignore
  expect(say(1, 1)).toBe(
    'At every time of the span all stations see at least 6 satellites and a PDOP of at most 4. Orbits are known of 31 of GPS.',
  );
  expect(say(1, 0.93)).toContain(
    'S2 sees least: at least 6 satellites and a PDOP of at most 4 during 93.0 % of the time',
  );
});

test('a specification: the station with the least margin speaks, and what is exactly enough is enough', () => {
  const specification = {
    asked: { horizontal_mm: 5, up_mm: 10 },
    askedFrom: 'movement' as const,
    wantedMargin: 2,
    stations: [
      { id: 'S1', base: 'B1', length_m: 400, horizontal_mm: 2, up_mm: 4, margin: 2.5 },
      { id: 'S2', base: 'B1', length_m: 900, horizontal_mm: 2.5, up_mm: 5, margin: 2 },
    ],
  };
  const told = plain(specificationSentence({ ...nothing, specification }));
  expect(told).toContain('a single solution of S2 is good for ± 2.5 mm and ± 5.0 mm over the 900 m from B1');
  expect(told).toContain('2.0 times as good as asked where 2 times are wanted, enough.');
  expect(told).toContain('a third of the smallest movement');
  expect(specificationSentence(nothing)).toBeUndefined();
});

test('room for data and the time of a run', () => {
  const room = { of: 'host', stations: 1, daily_MB: 30, free_MB: 900, days: 30.9, keepDays: 30 };
  expect(plain(storageSentence(room))).toBe('host: 1 station writes 30 MB a day; 900 MB last 30 days, enough for the 30 days until it is taken away.'); // prettier-ignore
  expect(storageSentence({ ...room, days: 29.9 })).toContain('not enough for');
  const run = { intervalMs: 3_600_000, runMs: 707_143, stations: 15, measuredWith: 14 };
  expect(plain(processingSentence(run))).toBe('Processing: a run of 15 stations takes 12 min of the 1 h between runs (measured with 14, and taken to grow with their number): enough is left to catch up after an outage.'); // prettier-ignore
  expect(processingSentence({ ...run, runMs: 3_000_000 })).toContain('little is left');
  expect(processingSentence({ ...run, runMs: 4_000_000 })).toContain(
    'does not end before the next one begins',
  );
});
