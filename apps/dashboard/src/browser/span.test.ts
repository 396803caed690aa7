import { describe, expect, test } from 'vitest';
import { dayMs } from '@stillmark/records';
import { ZoneClock } from '@stillmark/wording';
import { KeptPart } from './kept-part.ts';
import { along, clamped, closer } from './span.ts';
import { spanOfLink, wordsOfSpan } from './span-link.ts';

const whole = { fromMs: 1000 * dayMs, toMs: 1100 * dayMs };

describe('a span under the hand', () => {
  test('keeps the instant under the pointer at its place, and comes back', () => {
    const span = { fromMs: 1010 * dayMs, toMs: 1050 * dayMs };
    const near = closer(span, 4, 1020 * dayMs);
    expect(near).toEqual({ fromMs: 1017.5 * dayMs, toMs: 1027.5 * dayMs });
    expect(closer(near, 1 / 4, 1020 * dayMs)).toEqual(span);
    expect(along(span, 0.5)).toEqual({ fromMs: 1030 * dayMs, toMs: 1070 * dayMs });
  });

  test('never leaves the whole, is never longer than it nor shorter than an hour', () => {
    expect(clamped(along(whole, 3), whole)).toEqual(whole);
    expect(clamped({ fromMs: 990 * dayMs, toMs: 1010 * dayMs }, whole)).toEqual({
      fromMs: 1000 * dayMs,
      toMs: 1020 * dayMs,
    });
    expect(clamped(closer(whole, 1e9), whole).toMs - clamped(closer(whole, 1e9), whole).fromMs).toBe(
      dayMs / 24,
    );
    expect(clamped(closer(whole, 1e-9), whole)).toEqual(whole);
  });
});

describe('a span in a link', () => {
  const clock = new ZoneClock('Europe/London');

  test('is days of the zone where it is made of them, also over the change of the hour, and comes back', () => {
    const span = spanOfLink('2026-03-20', '2026-04-02', clock)!;
    expect(new Date(span.fromMs).toISOString()).toBe('2026-03-20T00:00:00.000Z');
    expect(new Date(span.toMs).toISOString()).toBe('2026-04-02T23:00:00.000Z');
    expect(wordsOfSpan(span, clock, 4e12)).toEqual({ from: '2026-03-20', to: '2026-04-02' });
  });

  test('holds whole days where the clock changes within them, whichever way, and comes back as days', () => {
    const berlin = new ZoneClock('Europe/Berlin');
    const autumn = spanOfLink('2026-10-25', '2026-10-25', berlin)!;
    expect((autumn.toMs - autumn.fromMs) / 3_600_000).toBe(25);
    expect(wordsOfSpan(autumn, berlin, 4e12)).toEqual({ from: '2026-10-25', to: '2026-10-25' });
    const auckland = new ZoneClock('Pacific/Auckland');
    const april = spanOfLink('2026-04-05', '2026-04-06', auckland)!;
    expect(new Date(april.fromMs).toISOString()).toBe('2026-04-04T11:00:00.000Z');
    expect((april.toMs - april.fromMs) / 3_600_000).toBe(49);
  });

  test('is minutes of UTC otherwise, and comes back within one', () => {
    const span = { fromMs: Date.parse('2026-05-01T06:07:00Z'), toMs: Date.parse('2026-05-03T01:02:03Z') };
    const { from, to } = wordsOfSpan(span, clock, 4e12);
    expect([from, to]).toEqual(['2026-05-01T06:07Z', '2026-05-03T01:03Z']);
    expect(spanOfLink(from, to, clock)!.fromMs).toBe(span.fromMs);
  });

  test('that is none is none', () => {
    for (const [from, to] of [['', ''], ['<b>', '9999-99-99'], ['2026-05-02', '2026-05-01'], ['2026-05-01T06:07Z', '2026-05-02'], ['2026-13-01', '2026-13-02']] as const)
      expect(spanOfLink(from, to, clock)).toBeUndefined(); // prettier-ignore
  });
});

describe('the part of a series that has been fetched', () => {
  const asked: [number, number][] = [];
  const part = new KeptPart(whole, (span) => {
    asked.push([span.fromMs / dayMs, span.toMs / dayMs]);
    return Promise.resolve(asked.length);
  });
  const days = (from: number, to: number): { fromMs: number; toMs: number } => ({
    fromMs: from * dayMs,
    toMs: to * dayMs,
  });

  test('reaches beyond what was asked for, serves what lies in it, and asks again only near its edge', async () => {
    expect(part.at(days(1040, 1050))).toBeUndefined();
    await expect(part.of(days(1040, 1050))).resolves.toBe(1);
    expect(asked).toEqual([[1030, 1060]]);
    await expect(part.of(days(1045, 1055))).resolves.toBe(1);
    expect(part.at(days(1055, 1065))).toEqual({ data: 1, covers: false });
    part.prepare(days(1042, 1052), () => expect.unreachable());
    expect(asked.length).toBe(1);
    await new Promise<void>((resolve) => part.prepare(days(1048, 1058), resolve));
    expect(asked[1]).toEqual([1026, 1080]);
    await expect(part.of(days(1050, 1060))).resolves.toBe(2);
  });

  test('is not asked for beyond the whole', async () => {
    await part.of(days(1090, 1200));
    expect(asked.at(-1)).toEqual([1080, 1100]);
    expect(part.at(days(1090, 1300))!.covers).toBe(true);
  });

  test('is asked for again after a failure', async () => {
    let calls = 0;
    const broken = new KeptPart(whole, () => (++calls === 1 ? Promise.reject(new Error('gone')) : Promise.resolve(calls))); // prettier-ignore
    await expect(broken.of(days(1000, 1001))).rejects.toThrow('gone');
    await expect(broken.of(days(1000, 1001))).resolves.toBe(2);
  });
});
