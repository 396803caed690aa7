import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { truth } from '@stillmark/data/larkmoor-dam/truth.ts';
import type { Snapshot, StreamView } from '@stillmark/records';
import { beforeAll, describe, expect, inject, test } from 'vitest';

// The demo dam against what its generator planted: a creep since June, a base that slides since July, an antenna that was knocked.
let snapshot: Snapshot;
beforeAll(async () => {
  snapshot = JSON.parse(await readFile(join(inject('larkmoorSite'), 'snapshot.json'), 'utf8')) as Snapshot;
});
const views = (id: string): StreamView[] => {
  const station = snapshot.stations.find((s) => s.id === id)!;
  return [station, ...station.others];
};
const seenFrom = (id: string, base: string): StreamView =>
  views(id).find(({ stream }) => stream?.kind === 'relative' && stream.base === base)!;
const day = 86_400_000;

describe('changes of the demo dam', () => {
  test('the creep of T07 is proposed as another rate, and it began inside the interval', () => {
    const { changes } = seenFrom('T07', 'B1').trajectory!;
    expect(changes).toMatchObject([{ kind: 'rate' }]);
    const [{ at, earliest, latest, east_mm, north_mm }] = changes as [(typeof changes)[number]];
    const began = Date.parse(truth.creep.from);
    expect(Date.parse(earliest)).toBeLessThanOrEqual(began + 10 * day);
    expect(Date.parse(latest)).toBeGreaterThanOrEqual(began - 10 * day);
    expect(Math.abs(Date.parse(at) - began)).toBeLessThan(40 * day);
    // 3.2 mm in 30 days are 39 mm a year.
    expect(Math.hypot(east_mm, north_mm)).toBeGreaterThan(25);
    expect(Math.hypot(east_mm, north_mm)).toBeLessThan(50);
  });

  test('the slide of B2 is seen in what is computed from it, and by no still station from the still base', () => {
    for (const id of ['T01', 'T02', 'T03', 'T05', 'T08'])
      expect(seenFrom(id, 'B1').trajectory!.changes).toEqual([]);
    const slide = Date.parse(truth.slide.from);
    for (const id of ['T01', 'T02', 'T03', 'T05']) {
      const [change] = seenFrom(id, 'B2').trajectory!.changes;
      expect(change).toMatchObject({ kind: 'rate' });
      expect(Date.parse(change!.earliest)).toBeLessThanOrEqual(slide + 10 * day);
      expect(Date.parse(change!.latest)).toBeGreaterThanOrEqual(slide - 10 * day);
    }
  });

  test('the knock of T04 is a named step of the planted size, and is proposed no more', () => {
    const { steps, changes, velocity, robust } = seenFrom('T04', 'B1').trajectory!;
    expect(changes).toEqual([]);
    const [step] = steps;
    const { east, north, up } = truth.knock;
    expect(Math.abs(step!.east_mm - east)).toBeLessThan(1.5 * step!.eastPlusMinus_mm);
    expect(Math.abs(step!.north_mm - north)).toBeLessThan(1.5 * step!.northPlusMinus_mm);
    expect(Math.abs(step!.up_mm - up)).toBeLessThan(1.5 * step!.upPlusMinus_mm);
    expect(velocity.horizontal.distinguishable).toBe(false);
    expect(Math.abs(robust!.east_mm)).toBeLessThan(3 * robust!.eastError_mm);
  });
});

test('T12 is not ready, and will be two weeks after its first position; all others have their evidence', () => {
  const [late] = views(truth.late.station);
  expect(late!.readiness).toMatchObject({ ready: false, readyAt: '2026-11-28T00:00:00Z' });
  for (const { id } of snapshot.stations)
    for (const view of views(id))
      if (view.reference) expect({ id, ready: view.readiness!.ready }).toEqual({ id, ready: true });
});
