import { describe, expect, test } from 'vitest';
import { dutiesAt, type Duty } from './index.ts';

const day = (text: string): number => Date.parse(`${text}T00:00:00Z`);
const yearly: Duty = {
  what: 'renew the SIM',
  due: day('2025-12-15'),
  every: { count: 12, unit: 'month' },
  done: [],
  remind: 14 * 86_400_000,
};
const told = (duty: Partial<Duty>, at: string): string => {
  const [found] = dutiesAt([{ ...yearly, ...duty }], day(at));
  return `${found!.state} ${found!.due ?? '-'}`;
};

describe('when a duty is due', () => {
  test.each([
    [{}, '2025-11-01', 'ahead 2025-12-15'],
    [{}, '2025-12-05', 'soon 2025-12-15'],
    [{}, '2025-12-15', 'soon 2025-12-15'],
    [{}, '2025-12-16', 'overdue 2025-12-15'],
    // Two weeks early, late, half a year late, and not yet known at the time.
    [{ done: [day('2025-12-01')] }, '2025-12-16', 'ahead 2026-12-15'],
    [{ done: [day('2026-01-20')] }, '2026-02-01', 'ahead 2026-12-15'],
    [{ done: [day('2026-07-20')] }, '2026-08-01', 'ahead 2026-12-15'],
    [{ done: [day('2026-01-20')] }, '2026-01-10', 'overdue 2025-12-15'],
    [{ done: [day('2025-01-20')] }, '2025-12-16', 'overdue 2025-12-15'],
    [{ done: [day('2025-12-10'), day('2026-12-20')] }, '2026-12-21', 'ahead 2027-12-15'],
    // The last of the month stays the last of the month.
    [
      { due: day('2026-01-31'), every: { count: 1, unit: 'month' }, done: [day('2026-01-31')] },
      '2026-02-10',
      'ahead 2026-02-28',
    ],
    [
      { due: day('2024-02-29'), every: { count: 1, unit: 'year' }, done: [day('2024-02-29')] },
      '2024-06-01',
      'ahead 2025-02-28',
    ],
    [{ every: { count: 2, unit: 'week' }, done: [day('2025-12-15')] }, '2025-12-16', 'soon 2025-12-29'],
    [{ every: undefined, done: [day('2025-12-10')] }, '2026-12-16', 'done -'],
  ] as const)('%o at %s: %s', (duty, at, expected) => expect(told(duty as Partial<Duty>, at)).toBe(expected));

  test('those that are due first come first', () =>
    expect(
      dutiesAt(
        [
          yearly,
          { ...yearly, what: 'visit', due: day('2025-11-01') },
          { ...yearly, what: 'x', every: undefined, done: [day('2025-01-01')] },
        ],
        day('2025-10-01'),
      ).map((d) => d.what),
    ).toEqual(['visit', 'renew the SIM', 'x']));
});
