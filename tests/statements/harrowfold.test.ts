import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { displacementAt, truth } from '@stillmark/data/harrowfold-slope/truth.ts';
import { writeHarrowfold } from '@stillmark/data/harrowfold-slope/write.ts';
import { commit, computeState, ingest, nodeFiles, type Effects } from '@stillmark/pipeline';
import type { DisplacementStatement, SiteView, StationRecord } from '@stillmark/records';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';

const effects: Effects = {
  files: nodeFiles,
  progress: () => {},
  nowMs: () => Date.parse('2026-12-01T00:00:00Z'),
};
const seeds = Array.from({ length: 14 }, (_, i) => 1000 + i);
const states: SiteView[] = [];

beforeAll(async () => {
  for (const seed of seeds) {
    const folder = await mkdtemp(join(tmpdir(), 'stillmark-truth-'));
    await writeHarrowfold(folder, seed);
    await ingest(folder, effects);
    const [fromMs, toMs] = [Date.parse(truth.reference.from), Date.parse(truth.reference.to)];
    const stations = ['B2', 'S1', 'S2'];
    await commit(folder, { stations, fromMs, toMs, by: 'test', committedMs: toMs }, effects);
    states.push(await computeState(folder, undefined, { name: 'test', version: '0' }, effects));
    await rm(folder, { recursive: true, force: true });
  }
}, 300_000);
afterAll(() => {
  states.length = 0;
});

const of = (state: SiteView, id: string): StationRecord => state.snapshot.stations.find((s) => s.id === id)!;
const displaced = (state: SiteView, id: string): DisplacementStatement => {
  const { statement } = of(state, id);
  if (statement.kind !== 'displacement') throw new Error(`${id} has no displacement`);
  return statement;
};

/** Mean true displacement over the window of a statement, mm. */
function trueDisplacement(
  id: string,
  { window }: DisplacementStatement,
): { east: number; north: number; up: number } {
  const middle = (Date.parse(window.from) + Date.parse(window.to)) / 2;
  return displacementAt(id, middle);
}

// The noise is the same in every axis of every history but for its draws: fourteen histories, three stations, three axes.
describe('what is planted in fourteen histories of the Harrowfold slope is stated', () => {
  test('the creeping station is found in every history, and its direction holds', () => {
    for (const state of states) {
      expect(state.snapshot.headline.moved).toContain(truth.creep.station);
      const { horizontal } = displaced(state, truth.creep.station);
      const trueAzimuth = (Math.atan2(truth.creep.eastPerDay, truth.creep.northPerDay) * 180) / Math.PI;
      expect(Math.abs(((horizontal.azimuthDeg - trueAzimuth + 540) % 360) - 180)).toBeLessThan(30);
    }
  });

  test('the true displacement lies in the 95 % ellipse and in the interval of up at the stated rate', () => {
    let ellipses = 0;
    let intervals = 0;
    let n = 0;
    for (const state of states) {
      for (const id of ['B2', 'S1', 'S2']) {
        const s = displaced(state, id);
        const t = trueDisplacement(id, s);
        const a = (s.horizontal.ellipse.azimuthDeg * Math.PI) / 180;
        const [de, dn] = [s.east_mm - t.east, s.north_mm - t.north];
        const along = (de * Math.sin(a) + dn * Math.cos(a)) / s.horizontal.ellipse.semiMajor_mm;
        const across = (de * Math.cos(a) - dn * Math.sin(a)) / s.horizontal.ellipse.semiMinor_mm;
        if (along ** 2 + across ** 2 <= 1) ellipses++;
        if (Math.abs(s.up_mm - t.up) <= s.up.plusMinus_mm) intervals++;
        n++;
      }
    }
    // Of 42 cases at 95 % fewer than 35 happen once in 2 000 (binomial).
    expect(n).toBe(42);
    expect(ellipses).toBeGreaterThanOrEqual(35);
    expect(intervals).toBeGreaterThanOrEqual(35);
  });

  test('a still station is seldom called moved: at most twice in fourteen histories', () => {
    const wrong = states.filter((state) =>
      ['B2', 'S1'].some(
        (id) => displaced(state, id).horizontal.distinguishable || displaced(state, id).up.distinguishable,
      ),
    );
    expect(wrong.length).toBeLessThanOrEqual(2);
  });

  test('the station of nine days is being established, the held base is held', () => {
    for (const state of states) {
      expect(of(state, 'S3').statement).toMatchObject({ kind: 'establishing', neededDays: 14 });
      expect(of(state, 'B1').statement).toEqual({ kind: 'held' });
      expect(state.snapshot.headline.open).toEqual(['S3']);
    }
  });

  test('the processing claims a fraction of the scatter that is found', () => {
    for (const state of states) {
      const { east } = displaced(state, 'S1').noise;
      expect(east.scatter_mm / east.formal_mm).toBeGreaterThan(2.5);
    }
  });

  test('wrong fixes are set aside and hardly anything else is', () => {
    for (const state of states) {
      const { data } = of(state, 'S1');
      expect(data!.outliers).toBeLessThan(0.02 * data!.epochs);
    }
    const total = states.reduce((sum, state) => sum + of(state, 'S1').data!.outliers, 0);
    expect(total).toBeGreaterThan(14 * 2);
  });
});
