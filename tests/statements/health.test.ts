import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import ICAL from 'ical.js';
import { truth } from '@stillmark/data/larkmoor-dam/truth.ts';
import type { HealthRecord, Snapshot, StationHealth } from '@stillmark/records';
import { beforeAll, describe, expect, inject, test } from 'vitest';

// Data health of the demo dam against what its generator planted.
const site = inject('larkmoorSite');
let health: HealthRecord;
let snapshot: Snapshot;
beforeAll(async () => {
  snapshot = JSON.parse(await readFile(join(site, 'snapshot.json'), 'utf8')) as Snapshot;
  ({ health } = snapshot);
});
const of = (id: string): StationHealth => health.stations.find(({ station }) => station === id)!;
const hour = 3_600_000;

describe('data health of the demo dam', () => {
  test('outages: the router of the berm with its four stations, and the station whose contract ran out', () => {
    const told = health.outages.map(
      ({ cause, stations }) => `${cause.kind} ${cause.name}: ${stations.join(' ')}`,
    );
    expect(told.filter((t) => !t.startsWith('vector'))).toEqual([
      'station T02: T02',
      ...truth.router.out.map(() => `shared router of the berm: ${truth.router.stations.join(' ')}`),
    ]);
    const [, second, first] = health.outages.filter(({ cause }) => cause.kind !== 'vector');
    for (const [outage, planted] of [
      [first!, truth.router.out[0]],
      [second!, truth.router.out[1]],
    ] as const) {
      expect(Math.abs(Date.parse(outage.from) + hour - Date.parse(planted.from))).toBeLessThanOrEqual(
        2 * hour,
      );
      expect(Math.abs(Date.parse(outage.to!) - Date.parse(planted.to))).toBeLessThanOrEqual(2 * hour);
    }
    expect(health.outages[0]!.to).toBeUndefined();
  });

  test('receivers: weak signals of one, rougher codes of another, all satellites seen', () => {
    expect(health.suspicions.map(({ kind, of: whose, since }) => `${kind} ${whose} ${since}`)).toEqual([
      `signal ${truth.weak.station} ${truth.weak.from}`,
    ]);
    const [strength] = health.suspicions[0]!.evidence;
    expect(strength).toMatchObject({ kind: 'strength', drop_dB: expect.closeTo(truth.weak.decibels, 0) });
    const multipath = (id: string): number =>
      of(id).tracking.find(({ source }) => source === 'observations')!.constellations[0]!.signals[0]!
        .multipath_m!;
    // The roughness grows with the slant; the two receivers differ by their planted ratio.
    expect(multipath('T05') / multipath('B1')).toBeCloseTo(truth.reflections.metres / 0.25, 1);
    for (const { tracking } of health.stations)
      for (const { constellations } of tracking) expect(constellations.flatMap((c) => c.missing)).toEqual([]);
    const { recent } = of('T05').tracking.find(({ source }) => source === 'observations')!;
    expect(recent).toMatchObject({ hours: 24, completeness: 1 });
    // Two of a thousand records are left out, and four slips are planted in ten thousand.
    expect(recent.trackedShare).toBeGreaterThan(0.99);
    expect(recent.slips).toBeGreaterThan(0.15);
    expect(recent.slips).toBeLessThan(0.6);
  });

  test('supplies: the battery is cut off about when its planted line says, the data plan is used up before its month ends', () => {
    const [battery, data, storage] = ['battery', 'data', 'storage'].map((s) =>
      health.supplies.find(({ sensor }) => sensor === s)!,
    );
    const { from, to, days } = truth.battery;
    const perDay = (to - from) / days;
    expect(battery!.perDay).toBeCloseTo(perDay, 3);
    const planted = Date.parse(truth.to) + ((11.8 - to) / perDay) * 86_400_000;
    expect(Math.abs(Date.parse(battery!.reached!.by!) - planted)).toBeLessThan(2 * 86_400_000);
    expect(data!.plan!.expected! / (30 * truth.data.megabytesADay)).toBeCloseTo(1, 1);
    expect(Date.parse(data!.reached!.by!)).toBeLessThan(Date.parse(data!.plan!.to));
    expect(storage!.reached).toBeUndefined();
  });

  test('duties: the contract of the silent station is overdue; the calendar has them all, read by ical.js', async () => {
    expect(health.duties[0]).toMatchObject({ of: 'T02', state: 'overdue', due: '2026-11-17' });
    const text = await readFile(join(site, 'duties.ics'), 'utf8');
    // RFC 5545, 3.1: lines end with CR LF and have at most 75 octets.
    expect(text.endsWith('\r\n')).toBe(true);
    for (const line of text.split('\r\n')) {
      expect(line).not.toContain('\n');
      expect(Buffer.byteLength(line)).toBeLessThanOrEqual(75);
    }
    const calendar = new ICAL.Component(ICAL.parse(text) as never[]);
    const events = calendar.getAllSubcomponents('vevent').map((e) => new ICAL.Event(e));
    expect(events.map((e) => `${e.startDate.toString()} ${e.summary}`)).toEqual(
      health.duties.map(
        ({ due, what, of: whose }) => `${due} ${what}${whose === undefined ? '' : ` (${whose})`}`,
      ),
    );
    const [sim] = events;
    expect(sim!.startDate.isDate).toBe(true);
    expect(sim!.component.getFirstPropertyValue('rrule')!.toString()).toBe('FREQ=MONTHLY;INTERVAL=12');
    const alarm = sim!.component.getFirstSubcomponent('valarm')!;
    expect(alarm.getFirstPropertyValue('trigger')!.toString()).toBe('-P14D');
    expect(sim!.component.getFirstPropertyValue('dtstamp')!.toString()).toBe(snapshot.asOf);
    expect(new Set(events.map((e) => e.uid)).size).toBe(events.length);
  });

  test('a reference period lists the satellites that were tracked in it', () => {
    const { readiness } = snapshot.stations.find(({ id }) => id === 'T12')!;
    const found = readiness!.checks.filter(({ check }) => check === 'satellites');
    expect(found.map(({ of: name, value, limit }) => `${name} ${value} of ${limit}`)).toEqual([
      'GPS 30 of 30',
      'GLONASS 24 of 24',
      'Galileo 24 of 24',
    ]);
  });
});
