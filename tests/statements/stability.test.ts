import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { truth } from '@stillmark/data/larkmoor-dam/truth.ts';
import type { Snapshot } from '@stillmark/records';
import { beforeAll, describe, expect, inject, test } from 'vitest';

// The bases of the demo dam against what its generator planted: B2 slides since July, B3 follows the water by a few millimetres.
let snapshot: Snapshot;
beforeAll(async () => {
  snapshot = JSON.parse(await readFile(join(inject('larkmoorSite'), 'snapshot.json'), 'utf8')) as Snapshot;
});
const day = 86_400_000;

describe('the sliding base of the demo dam', () => {
  test('is named, it alone, and its begin lies inside the interval', () => {
    const { finding, bases } = snapshot.network.stability!;
    expect(bases).toEqual(['B1', 'B2', 'B3']);
    expect(finding).toMatchObject({ kind: 'moving', moving: [{ id: 'B2' }] });
    const [{ since, earliest, latest }] = finding.kind === 'moving' ? finding.moving : [{ since: '' }];
    const began = Date.parse(truth.slide.from);
    expect(Date.parse(since)).toBeGreaterThan(began);
    // 0.07 mm a day: some two to four months of simulated delay.
    expect(Date.parse(since) - began).toBeLessThan(120 * day);
    expect(Date.parse(earliest!)).toBeLessThan(began);
    expect(Date.parse(latest!)).toBeGreaterThan(began);
  });

  test('its movement is told in the datum of the others', () => {
    const { horizontal } = snapshot.network.stability!.movements.find(({ id }) => id === 'B2')!;
    const months = (Date.parse(snapshot.asOf) - Date.parse(truth.slide.from)) / (30 * day);
    expect(Math.abs(horizontal.magnitude_mm - truth.slide.horizontal * months)).toBeLessThan(
      1.5 * horizontal.plusMinus_mm,
    );
    expect(Math.abs(horizontal.azimuthDeg - truth.slide.azimuth)).toBeLessThan(20);
  });

  test('no monitoring station is reported as moving because of it; told from the others only the creeping one moves', () => {
    expect(snapshot.headline.moved).toEqual([truth.creep.station]);
    const onto = snapshot.stations.flatMap(({ id, others }) =>
      others.flatMap((v) => (v.ontoStable ? [{ id, ...v.ontoStable }] : [])),
    );
    expect(onto.length).toBe(10);
    expect(
      onto.filter((o) => o.horizontal.distinguishable || o.up.distinguishable).map(({ id }) => id),
    ).toEqual([truth.creep.station]);
  });
});

describe('what else speaks of the bases', () => {
  test('of all that is seen from B2 the slide of B2 is the most probable cause, beside the creep of one station', () => {
    const seen = snapshot.network.common.find(({ base }) => base === 'B2')!;
    const [best] = seen.hypotheses;
    expect(best).toMatchObject({ kind: 'base', alone: [truth.creep.station] });
    expect(best!.weight).toBeGreaterThan(0.99);
    // The other way round.
    const azimuth = (Math.atan2(-best!.common!.east_mm, -best!.common!.north_mm) * 180) / Math.PI;
    expect(Math.abs(((azimuth + 360) % 360) - truth.slide.azimuth)).toBeLessThan(15);
  });

  test('seen from B1 nothing is shared; the sliding base and the creeping station moved alone', () => {
    const [best] = snapshot.network.common.find(({ base }) => base === 'B1')!.hypotheses;
    expect(best!.kind).toBe('nothing');
    expect(best!.alone.toSorted()).toEqual([truth.slide.station, truth.creep.station].toSorted());
  });

  test('two streams of every station agree but for what their bases do, although one base slides', () => {
    const { closures } = snapshot.network;
    expect(closures.length).toBe(10);
    expect(closures.filter((c) => c.horizontal.distinguishable || c.up.distinguishable)).toEqual([]);
    // What the bases do is centimetres; what is left is known to millimetres.
    expect(Math.max(...closures.map(({ horizontal }) => horizontal.detectable_mm))).toBeLessThan(4);
  });
});
