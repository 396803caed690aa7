import { existsSync, readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { formatInstant, gpsMinusUtcSeconds, gpsToUtc, parseDuration, parseInstant } from './index.ts';

const ms = (text: string) => Date.parse(text);

describe('instants', () => {
  test('a time with Z or an offset is read as UTC', () => {
    expect(parseInstant('2026-03-01T06:00:00Z')).toEqual({ ok: true, ms: ms('2026-03-01T06:00:00Z') });
    expect(parseInstant('2026-03-01 06:00:00+02:00')).toEqual({ ok: true, ms: ms('2026-03-01T04:00:00Z') });
    expect(parseInstant('2026-03-01T06:00:00.25Z')).toEqual({ ok: true, ms: ms('2026-03-01T06:00:00.250Z') });
  });

  test.each(['2026-03-01T06:00:00', '2026-03-01 06:00'])('a time without zone is refused: %s', (text) => {
    const result = parseInstant(text);
    expect(result.ok).toBe(false);
    expect(result.ok ? '' : result.reason).toContain('has no time zone');
  });

  test.each([
    '2026-02-30T00:00:00Z',
    '2026-13-01T00:00:00Z',
    '2026-01-01T24:00:00Z',
    'yesterday',
    '',
    '1772323200',
  ])('what the calendar does not hold is refused: %s', (text) => expect(parseInstant(text).ok).toBe(false));

  test('GPS time is 18 s ahead of UTC since 2017 (IERS Bulletin C)', () => {
    expect(parseInstant('2026-03-01T06:00:18', 'GPS')).toEqual({ ok: true, ms: ms('2026-03-01T06:00:00Z') });
    expect(parseInstant('2026-03-01T06:00:18Z', 'GPS').ok).toBe(false);
    expect(gpsMinusUtcSeconds(ms('2016-12-31T23:59:59Z'))).toBe(17);
    expect(gpsMinusUtcSeconds(ms('2017-01-01T00:00:00Z'))).toBe(18);
  });

  test('the conversion from GPS time goes forward across a leap second', () => {
    expect(gpsToUtc(ms('2017-01-01T00:00:16Z'))).toBe(ms('2016-12-31T23:59:59Z'));
    expect(gpsToUtc(ms('2017-01-01T00:00:18Z'))).toBe(ms('2017-01-01T00:00:00Z'));
  });

  const list = '/usr/share/zoneinfo/leap-seconds.list';
  test.runIf(existsSync(list))(
    'the leap seconds are those of tzdata (leap-seconds.list, public domain)',
    () => {
      const rows = readFileSync(list, 'utf8')
        .split('\n')
        .filter((line) => /^\d/.test(line));
      expect(rows.length).toBeGreaterThan(20);
      for (const row of rows) {
        const [ntp, tai] = row.trim().split(/\s+/).map(Number);
        const utcMs = (ntp! - 2_208_988_800) * 1000;
        if (utcMs >= ms('1980-01-06T00:00:00Z')) expect(gpsMinusUtcSeconds(utcMs)).toBe(tai! - 19);
      }
    },
  );

  test('an instant is written in UTC, whatever the zone of the machine', () => {
    expect(process.env['TZ']).toBe('America/St_Johns');
    expect(formatInstant(ms('2026-03-01T06:00:00Z'))).toBe('2026-03-01T06:00:00Z');
  });
});

test('durations carry their unit', () => {
  expect(parseDuration('6 h')).toBe(21_600_000);
  expect(parseDuration('14d')).toBe(1_209_600_000);
  expect(parseDuration('6')).toBeUndefined();
  expect(parseDuration('0 h')).toBeUndefined();
  expect(parseDuration('-1 h')).toBeUndefined();
  expect(parseDuration('9000000 d')).toBeUndefined();
});
