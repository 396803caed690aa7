import { ProblemError } from '@stillmark/problems';
import type { Snapshot, StationSeries } from '@stillmark/records';
import { expectClose } from '@stillmark/tooling/close';
import { describe, expect, expectTypeOf, test } from 'vitest';
import type { z } from 'zod';
import {
  compareWithManifest,
  decodeSeries,
  encodeSeries,
  parseManifest,
  parseSnapshot,
  serialiseManifest,
  serialiseSnapshot,
  type snapshotSchema,
} from './index.ts';

const snapshot: Snapshot = {
  format: 'stillmark-snapshot',
  version: 1,
  producer: { name: 'stillmark', version: '0.1.0' },
  asOf: '2026-05-10T00:00:00Z',
  validUntil: '2026-05-12T00:00:00Z',
  project: {
    title: 'A slope',
    timeZone: 'UTC',
    frame: { name: 'ITRF2020', ellipsoid: 'GRS 1980' },
    processingIntervalMs: 86_400_000,
    requirement: { horizontal_mm: 10, up_mm: 15 },
    responsible: [],
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
  headline: { moved: [], still: [], open: ['S1'], doubted: [], tests: 0 },
  network: { held: ['B1'], pairs: [], common: [], closures: [], surveys: [], decisions: [] },
  map: { origin: { latitudeDeg: 46.1, longitudeDeg: 9.2, height_m: 812 }, outline: [] },
  stations: [
    {
      id: 'S1',
      role: 'monitoring',
      on: 'the slope',
      position: { latitudeDeg: 46.1, longitudeDeg: 9.2, height_m: 0.1 + 0.2, east_m: 0, north_m: 0, up_m: 0 },
      statement: { kind: 'no-data' },
      ties: [],
      others: [],
    },
  ],
  heights: [],
  pairs: [],
  profiles: [],
  triggers: [],
  alarmLoad: [],
  health: {
    recent: { from: '2026-05-03T00:00:00Z', to: '2026-05-10T00:00:00Z' },
    before: { from: '2026-04-05T00:00:00Z', to: '2026-05-03T00:00:00Z' },
    shared: [],
    stations: [],
    outages: [],
    supplies: [],
    duties: [],
    suspicions: [],
    timeFaults: [],
  },
  plan: {
    figures: [],
    stations: [],
    zones: [],
    failures: [],
    power: [],
    communications: [],
    storage: [],
    checklist: [],
    displacementTests: [],
  },
  sensors: [],
  inputs: [],
  doubts: [],
};

describe('snapshot.json', () => {
  test('the schema describes the records that all rooms share', () => {
    expectTypeOf<z.output<typeof snapshotSchema>>().toExtend<Snapshot>();
  });

  test('what is written is read back, with the last bits of the processor rounded away', () => {
    const back = parseSnapshot(serialiseSnapshot(snapshot));
    expect(back.stations[0]!.position.height_m).toBe(0.3);
    expect(back.project).toEqual(snapshot.project);
  });

  test('a snapshot of another version, or with a field that is not known, is refused', () => {
    const text = serialiseSnapshot(snapshot);
    expect(() => parseSnapshot(text.replace('"version": 1', '"version": 2'))).toThrow(
      /not a snapshot of version 1: version/,
    );
    expect(() => parseSnapshot(text.replace('"asOf"', '"extra": 1, "asOf"'))).toThrow(ProblemError);
    expect(() => parseSnapshot('{')).toThrow(/not JSON/);
  });

  test('a figure that is not a number is never written', () => {
    const broken = { ...snapshot, settings: { ...snapshot.settings, power: Number.NaN } };
    expect(() => serialiseSnapshot(broken)).toThrow(/expected number/);
  });
});

describe('series', () => {
  const n = 3000;
  const column = (f: (i: number) => number, length = n): Float64Array =>
    Float64Array.from({ length }, (_, i) => f(i));
  const series: StationSeries = {
    epochs: {
      timesMs: column((i) => Date.parse('2026-03-01T00:00:00Z') + i * 3_600_000 + (i % 7)),
      east_mm: column((i) => Math.sin(i) * 12.345),
      north_mm: column((i) => i / 1000),
      up_mm: column((i) => -i),
      flag: Uint8Array.from({ length: n }, (_, i) => i % 3),
    },
    windows: {
      timesMs: column((i) => i * 21_600_000, 5),
      east_mm: column((i) => i, 5),
      north_mm: column((i) => -i, 5),
      up_mm: column((i) => i * 2, 5),
      eastHalf_mm: column((i) => (i === 2 ? Number.NaN : 1.5), 5),
      northHalf_mm: column(() => 1, 5),
      upHalf_mm: column(() => 3, 5),
    },
  };

  test('columns come back to a ten-thousandth of a millimetre, times exactly, and what cannot be stated stays so', async () => {
    const back = await decodeSeries(encodeSeries(series));
    expect(back.epochs.timesMs).toEqual(series.epochs.timesMs);
    expect(back.epochs.flag).toEqual(series.epochs.flag);
    expectClose(back.epochs.east_mm, series.epochs.east_mm, { within: 1e-4, unit: 'mm' });
    expectClose(back.windows, series.windows, { within: 1e-6, unit: 'mm' });
  });

  test('of a long series only the groups of rows that reach into a span are read', async () => {
    const long = 70_000;
    const flat = column((i) => Math.sin(i * i), long);
    const times = column((i) => i * 3_600_000, long);
    const { epochs, windows } = encodeSeries({
      epochs: { timesMs: times, east_mm: flat, north_mm: flat, up_mm: flat, flag: new Uint8Array(long) },
      windows: series.windows,
    });
    const read: [number, number][] = [];
    const fetched = {
      byteLength: epochs.length,
      slice: (from: number, to?: number) => {
        read.push([from, to ?? epochs.length]);
        return epochs.slice(from, to).buffer;
      },
    };
    const span = { fromMs: 65_000 * 3_600_000, toMs: 66_000 * 3_600_000 };
    const back = await decodeSeries({ epochs: fetched, windows }, span);
    expect([back.epochs.timesMs[0], back.epochs.timesMs.at(-1)]).toEqual([
      60_000 * 3_600_000,
      69_999 * 3_600_000,
    ]);
    const bytes = read.reduce((sum, [from, to]) => sum + to - from, 0);
    expect(bytes).toBeLessThan(0.35 * epochs.length);
    expect(
      (await decodeSeries({ epochs: fetched, windows }, { fromMs: 9e14, toMs: 9e14 })).epochs.timesMs.length,
    ).toBe(0);
  });

  test('the axes of the structure come back where there are any', async () => {
    const { epochs, windows } = series;
    const turned: StationSeries = {
      epochs: { ...epochs, longitudinal_mm: epochs.up_mm, transverse_mm: epochs.east_mm },
      windows: {
        ...windows,
        longitudinal_mm: windows.up_mm,
        transverse_mm: windows.east_mm,
        longitudinalHalf_mm: windows.upHalf_mm,
        transverseHalf_mm: windows.eastHalf_mm,
      },
    };
    const back = await decodeSeries(encodeSeries(turned));
    expectClose(back.windows, turned.windows, { within: 1e-6, unit: 'mm' });
    expect(back.epochs.transverse_mm!.length).toBe(n);
  });

  test('the same series gives the same bytes', () => {
    expect(encodeSeries(series)).toEqual(encodeSeries(structuredClone(series)));
  });

  test('a station without epochs has empty files', async () => {
    const none = {
      timesMs: column(() => 0, 0),
      east_mm: column(() => 0, 0),
      north_mm: column(() => 0, 0),
      up_mm: column(() => 0, 0),
    };
    const empty: StationSeries = {
      epochs: { ...none, flag: new Uint8Array(0) },
      windows: { ...none, eastHalf_mm: none.up_mm, northHalf_mm: none.up_mm, upHalf_mm: none.up_mm },
    };
    expect((await decodeSeries(encodeSeries(empty))).epochs.timesMs.length).toBe(0);
  });
});

describe('manifest', () => {
  const entry = (path: string, sha256 = 'aa', bytes = 1) => ({ path, bytes, sha256 });
  const written = [entry('b.html'), entry('a.html'), entry('c/d.svg')];

  test('is in order of path, and says nothing where nothing changed', () => {
    const manifest = parseManifest(serialiseManifest(written));
    expect(manifest.map((e) => e.path)).toEqual(['a.html', 'b.html', 'c/d.svg']);
    expect(compareWithManifest(manifest, written)).toEqual([]);
  });

  test('a changed, a missing and an added file are each told', () => {
    const found = [entry('a.html', 'bb'), entry('b.html', 'cc', 2), entry('x.js')];
    expect(compareWithManifest(written, found).map((p) => `${p.at!.file}: ${p.message}`)).toEqual([
      'b.html: the file is changed: 2 bytes, 1 were written',
      'a.html: the file is changed',
      'c/d.svg: the file is missing',
      'x.js: the file was added: it is not in the manifest',
    ]);
  });

  test('a manifest that is none is refused', () =>
    expect(() => parseManifest('[]')).toThrow(/cannot be read/));
});
