import { describe, expect, test } from 'vitest';
import { arrivalStrips, stateStrips, tradeOff, type StateStripsTask, type TradeOffTask } from './index.ts';

const day = 86_400_000;
const zone = { zone: 'UTC', offsetMs: () => 0, offsetName: () => 'UTC' };

describe('states over time', () => {
  const task: StateStripsTask = {
    id: 's',
    width: 880,
    title: 'Levels',
    description: 'over time',
    span: { fromMs: 0, toMs: 100 * day },
    zone,
    rows: [
      {
        name: 'T1',
        spans: [
          { fromMs: 0, toMs: 40 * day, condition: 'measured', level: 0 },
          { fromMs: 40 * day, toMs: 70 * day, condition: 'measured', level: 2 },
          { fromMs: 70 * day, toMs: 100 * day, condition: 'no-data', level: 2 },
        ],
      },
      { name: 'T2', spans: [{ fromMs: 0, toMs: 100 * day, condition: 'in-doubt', level: 0 }] },
    ],
  };
  const svg = stateStrips(task);

  test('what cannot be relied on has a texture, and is never drawn as below the levels', () => {
    // One row and the key.
    expect(svg.match(/class="below"/g)).toHaveLength(2);
    expect(svg.match(/class="texture in-doubt"/g)).toHaveLength(2);
    expect(svg.match(/class="texture no-data"/g)).toHaveLength(2);
    expect(svg).toContain('url(#s-in-doubt)');
  });

  test('a level is a numeral in a box, also beneath a texture', () => {
    expect(svg.match(/class="numeral level-2"[^>]*>2</g)).toHaveLength(2);
    const widths = [...svg.matchAll(/class="level level-2" x="([\d.]+)" y="[\d.]+" width="([\d.]+)"/g)].map(
      (m) => Number(m[2]),
    );
    // Thirty of a hundred days each.
    expect(widths[0]).toBeCloseTo(widths[1]!, 1);
  });

  test('on a phone all fits', () => {
    const narrow = stateStrips({ ...task, width: 360 });
    for (const [, x, w] of narrow.matchAll(/<rect class="[^"]*" x="([\d.]+)" y="[\d.]+" width="([\d.]+)"/g))
      expect(Number(x) + Number(w)).toBeLessThanOrEqual(360);
  });
});

describe('trade-off', () => {
  const point = { shape: 0, filled: false, recommended: false };
  const task: TradeOffTask = {
    id: 't',
    width: 880,
    title: 'Trade-off',
    description: 'false alarms against delay',
    borne: 0.5,
    shapes: ['means of 6 h', 'means of 24 h'],
    none: 'none',
    panels: [
      {
        name: 'days',
        within: 2,
        points: [
          { ...point, alarms: 0.05, days: 1 },
          { ...point, alarms: 5, days: 0.5, shape: 1 },
          { ...point, alarms: 0, days: 3, recommended: true, name: 'recommended' },
        ],
      },
    ],
  };
  const svg = tradeOff(task);
  const places = [...svg.matchAll(/class="candidate (?:hollow|filled)" d="M([\d.]+) ([\d.]+)/g)]
    .map((m) => [Number(m[1]), Number(m[2])] as const)
    .slice(3);

  test('further right is more often, further up is later; none stands at the left of all', () => {
    expect(places).toHaveLength(3);
    const [few, many, none] = places as [(typeof places)[0], (typeof places)[0], (typeof places)[0]];
    expect(none[0]).toBeLessThan(few[0]);
    expect(few[0]).toBeLessThan(many[0]);
    expect(many[1]).toBeGreaterThan(few[1]);
    expect(none[1]).toBeLessThan(few[1]);
  });

  test('what is asked is the corner: the first mark lies in it, the others do not', () => {
    const [x, y, w, h] = /class="asked" x="([\d.]+)" y="([\d.]+)" width="([\d.]+)" height="([\d.]+)"/
      .exec(svg)!
      .slice(1)
      .map(Number) as [number, number, number, number];
    const inside = places.map(([px, py]) => px >= x && px <= x + w && py >= y && py <= y + h);
    expect(inside).toEqual([true, false, false]);
  });

  test('what is not found in time stands at the top, and the recommended is ringed and named', () => {
    const late = tradeOff({ ...task, panels: [{ ...task.panels[0]!, points: [{ ...point, alarms: 1 }] }] });
    expect(late).toMatch(/class="candidate hollow" d="M[\d.]+ 60/);
    expect(svg.match(/<circle class="recommended"/g)).toHaveLength(1);
    expect(svg).toContain('>recommended<');
  });
});

test('days of arrivals: a cross where nothing came, nothing before the first position', () => {
  const svg = arrivalStrips({
    id: 'a',
    width: 400,
    title: 'Days',
    description: 'Days on which positions came.',
    firstMs: Date.parse('2026-11-01T00:00:00Z'),
    rows: [
      { name: 'S1', days: [1, 0.95, 0.5, 0] },
      { name: 'S2', days: [undefined, undefined, 1, 1] },
    ],
    zone,
  });
  // One of each in the key.
  expect(svg.match(/class="day"/g)).toHaveLength(1 + 4);
  expect(svg.match(/class="day part"/g)).toHaveLength(1 + 1);
  expect(svg.match(/class="day-none"/g)).toHaveLength(1 + 1);
  expect(svg).not.toContain('style=');
  expect(svg).not.toContain('NaN');
});
