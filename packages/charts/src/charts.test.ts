import { source } from '@stillmark/data/synthetic/noise.ts';
import type { StationSeries } from '@stillmark/records';
import { describe, expect, test } from 'vitest';
import {
  networkMap,
  planScatter,
  placeLabels,
  timeline,
  timeTicks,
  type Box,
  type MapStation,
  type MapTask,
  type ScatterTask,
  type TimelineTask,
  type Zone,
} from './index.ts';
import { el, escape } from './svg.ts';

const numbers = (svg: string, element: string, attribute: string): number[] =>
  [...svg.matchAll(new RegExp(`<${element}[^>]* ${attribute}="(-?[\\d.]+)"`, 'g'))].map((m) => Number(m[1]));

describe('markup', () => {
  test('text and attributes from a project file come out inert', () => {
    const hostile = `"><script>alert(1)</script>&'`;
    expect(escape(hostile)).toBe('&#34;&#62;&#60;script&#62;alert(1)&#60;/script&#62;&#38;&#39;');
    expect(el('text', { x: 1.23456, id: hostile, fill: undefined })).toBe(
      `<text x="1.23" id="${escape(hostile)}"/>`,
    );
  });
});

describe('labels', () => {
  const frame: Box = { x: 0, y: 0, width: 300, height: 300 };
  const overlaps = (a: Box, b: Box): boolean =>
    a.x < b.x + b.width - 1e-9 &&
    b.x < a.x + a.width - 1e-9 &&
    a.y < b.y + b.height - 1e-9 &&
    b.y < a.y + a.height - 1e-9;

  test('of thirty crowded stations no label covers another or leaves the frame', () => {
    const random = source(4);
    const tasks = Array.from({ length: 30 }, (_, i) => ({
      id: `T${i}`,
      x: 60 + 180 * random.uniform(),
      y: 60 + 180 * random.uniform(),
      width: 24,
      height: 14,
      clearance: 8,
    }));
    const placed = placeLabels(
      tasks,
      tasks.map(({ x, y }) => ({ x: x - 5, y: y - 5, width: 10, height: 10 })),
      frame,
    );
    placed.forEach((a, i) => {
      expect(a.x).toBeGreaterThanOrEqual(0);
      expect(a.x + a.width).toBeLessThanOrEqual(300);
      for (const b of placed.slice(i + 1)) expect(overlaps(a, b), `${a.id} and ${b.id}`).toBe(false);
    });
  });

  test('a lone label stands to the right of its point, without a lead', () => {
    expect(
      placeLabels([{ id: 'A', x: 150, y: 150, width: 20, height: 10, clearance: 8 }], [], frame),
    ).toEqual([{ id: 'A', x: 158, y: 145, width: 20, height: 10, led: false }]);
  });
});

const displaced = (
  east_mm: number,
  north_mm: number,
  distinguishable: boolean,
): NonNullable<MapStation['displacement']> => ({
  east_mm,
  north_mm,
  distinguishable,
  ellipse: { semiMajor_mm: 4, semiMinor_mm: 2, azimuthDeg: 30 },
  up_mm: -3,
  upHalf_mm: 6,
  upDistinguishable: false,
});
const stations: MapStation[] = [
  { id: 'B1', role: 'base', state: 'held', words: 'held', east_m: 0, north_m: 0 },
  {
    id: 'S1',
    role: 'monitoring',
    state: 'still',
    words: 'still',
    east_m: 400,
    north_m: 150,
    displacement: displaced(1, 1, false),
  },
  {
    id: 'S2',
    role: 'monitoring',
    state: 'moved',
    words: 'moved <b>',
    east_m: 420,
    north_m: 50,
    displacement: displaced(30, -40, true),
    href: 'stations/S2.html',
  },
];
const mapTask = (more: Partial<MapTask> = {}): MapTask => ({
  id: 'map',
  width: 800,
  height: 600,
  title: 'Map',
  description: 'What it shows',
  confidence: '95 %',
  stations,
  outline: [],
  ...more,
});

describe('map', () => {
  test('north is up, east is right, and both axes have one scale', () => {
    const svg = networkMap(mapTask());
    const marks = [
      ...svg.matchAll(
        /<g class="mark [^>]*"><title>[^<]*<\/title><(?:path d="M(-?[\d.]+) (-?[\d.]+)|circle cx="(-?[\d.]+)" cy="(-?[\d.]+))/g,
      ),
    ].map((m) => ({
      x: Number(m[1] ?? m[3]),
      y: m[2] === undefined ? Number(m[4]) : Number(m[2]) + 7.5,
    }));
    const [b1, s1, s2] = marks as [
      { x: number; y: number },
      { x: number; y: number },
      { x: number; y: number },
    ];
    const scale = (s1.x - b1.x) / 400;
    expect((b1.y - s1.y) / 150).toBeCloseTo(scale, 3);
    expect((s2.x - b1.x) / 420).toBeCloseTo(scale, 3);
  });

  test('a vector points where the station moved, at the scale of its bar', () => {
    const svg = networkMap(mapTask());
    const solid = /class="vector solid">.*?cx="([\d.]+)" cy="([\d.]+)"/.exec(svg)!;
    const mark = /class="mark monitoring moved".*?cx="([\d.]+)" cy="([\d.]+)"/.exec(svg)!;
    const [dx, dy] = [Number(solid[1]) - Number(mark[1]), Number(solid[2]) - Number(mark[2])];
    expect((Math.atan2(dx, -dy) * 180) / Math.PI).toBeCloseTo(143.13, 1);
    const bar =
      /class="scalebar" d="M[\d.]+ \d+v8M[\d.]+ \d+h([\d.]+)M[^>]*><text[^>]*>(\d+)\u202fmm moved/.exec(svg)!;
    expect(Math.hypot(dx, dy) / 50).toBeCloseTo(Number(bar[1]) / Number(bar[2]), 2);
  });

  test('the major axis of an ellipse lies at its azimuth, clockwise from north', () => {
    const svg = networkMap(mapTask());
    expect(svg).toMatch(/<ellipse[^>]*transform="rotate\(30 /);
    const [rx, ry] = [numbers(svg, 'ellipse', 'rx')[0]!, numbers(svg, 'ellipse', 'ry')[0]!];
    expect(ry / rx).toBeCloseTo(2, 1);
  });

  test.each([
    [800, 600],
    [360, 470],
  ])('marks, vectors and ellipses lie inside the neat line at %i x %i', (width, height) => {
    const svg = networkMap(mapTask({ width, height }));
    const [x, y, w, h] = ['x', 'y', 'width', 'height'].map((a) => numbers(svg, 'rect', a)[0]!) as [
      number,
      number,
      number,
      number,
    ];
    const inside = svg.slice(0, svg.indexOf('class="key"'));
    for (const cx of [...numbers(inside, 'circle', 'cx'), ...numbers(inside, 'ellipse', 'cx')])
      expect(cx > x && cx < x + w).toBe(true);
    for (const cy of [...numbers(inside, 'circle', 'cy'), ...numbers(inside, 'ellipse', 'cy')])
      expect(cy > y && cy < y + h).toBe(true);
  });

  test('a network in one point, and one without displacements, are drawn', () => {
    for (const list of [
      [stations[0]!],
      [{ ...stations[0]!, id: 'B2' }, stations[0]!],
      stations.map(({ id, role, state, words, east_m, north_m }) => ({
        id,
        role,
        state,
        words,
        east_m,
        north_m,
      })),
    ]) {
      expect(networkMap(mapTask({ stations: list }))).not.toMatch(/NaN|Infinity|undefined/);
    }
  });

  test('the outline lies under the stations, in their coordinates, and is cut off at the neat line', () => {
    const outline = [
      { kind: 'structure', name: 'crest <1>', closed: false, points_m: [0, 0, 400, 150] },
      { kind: 'water', closed: true, points_m: [-5000, 0, 9000, 0, 9000, 9000] },
    ];
    const svg = networkMap(mapTask({ outline }));
    const [, x0, y0, x1, y1] = /class="structure line" d="M([\d.]+) ([\d.]+)L([\d.]+) ([\d.]+)"/.exec(svg)!;
    const b1 = /class="mark base held".*?M([\d.]+) ([\d.]+)/.exec(svg)!;
    const s1 = /class="mark monitoring still".*?cx="([\d.]+)" cy="([\d.]+)"/.exec(svg)!;
    expect(Number(x0)).toBeCloseTo(Number(b1[1]), 0);
    expect(Number(y0)).toBeCloseTo(Number(b1[2]) + 7.5, 0);
    expect([Number(x1), Number(y1)]).toEqual([
      expect.closeTo(Number(s1[1]), 0),
      expect.closeTo(Number(s1[2]), 0),
    ]);
    expect(svg).toContain('crest &#60;1&#62;');
    expect(svg).toContain('clip-path="url(#map-plot)"');
    expect(svg.indexOf('class="outline"')).toBeLessThan(svg.indexOf('class="mark'));
  });

  test('a tip is inert, a title and a description are there, no style attribute is', () => {
    const svg = networkMap(mapTask());
    expect(svg).toContain('moved &#60;b&#62;');
    expect(svg).toContain('<title id="map-title">Map</title><desc id="map-desc">What it shows</desc>');
    expect(svg).not.toMatch(/ style=/);
  });
});

const utc: Zone = { zone: 'UTC', offsetMs: () => 0, offsetName: () => 'UTC' };
const hour = 3_600_000;
const start = Date.parse('2026-03-01T00:00:00Z');

function series(n = 24 * 60): StationSeries {
  const random = source(9);
  const column = (count: number, sigma: number): Float64Array =>
    Float64Array.from({ length: count }, () => sigma * random.normal());
  const m = Math.floor(n / 6);
  const half = (): Float64Array => new Float64Array(m).fill(3);
  return {
    epochs: {
      timesMs: Float64Array.from({ length: n }, (_, i) => start + i * hour),
      east_mm: column(n, 3),
      north_mm: column(n, 3),
      up_mm: column(n, 6),
      flag: new Uint8Array(n),
    },
    windows: {
      timesMs: Float64Array.from({ length: m }, (_, i) => start + (i + 0.5) * 6 * hour),
      east_mm: column(m, 1.2),
      north_mm: column(m, 1.2),
      up_mm: column(m, 2.4),
      eastHalf_mm: half(),
      northHalf_mm: half(),
      upHalf_mm: half(),
    },
  };
}

const timelineTask = (more: Partial<TimelineTask> = {}): TimelineTask => ({
  id: 'tl',
  width: 880,
  title: 'Timeline',
  description: 'What it shows',
  axes: (['east', 'north', 'up'] as const).map((axis) => ({ axis, name: axis })),
  series: series(),
  sensors: [],
  windowMs: 6 * hour,
  zone: utc,
  confidence: '95 %',
  events: [],
  ...more,
});

describe('timeline', () => {
  test('a long series weighs no more than the pixels it falls on, and says so', () => {
    const long = series(24 * 60 * 20);
    for (const [width, inner] of [
      [880, 822],
      [360, 302],
    ] as const) {
      const svg = timeline(timelineTask({ series: long, width }));
      for (const name of ['epochs columns', 'windows columns']) {
        const paths = [...svg.matchAll(new RegExp(`class="${name}" d="([^"]*)"`, 'g'))];
        const strokes = paths.map(([, d]) => d!.match(/[Mm]/g)!.length);
        expect(Math.max(...strokes)).toBeLessThanOrEqual(inner + 1);
        expect(Math.max(...strokes)).toBeGreaterThan(0.9 * inner);
      }
      expect(svg).toContain('least to greatest');
    }
    expect(timeline(timelineTask())).not.toContain('least to greatest');
  });

  test('the greatest mean of a long series is on the figure, at its place', () => {
    const long = series(24 * 60 * 20);
    long.windows.up_mm[2000] = 9;
    const svg = timeline(timelineTask({ series: long }));
    const [, zero, scale] = /data-name="up" data-zero="([\d.]+)" data-px-per-mm="([\d.]+)"/.exec(svg)!;
    const path = [...svg.matchAll(/class="windows columns" d="([^"]*)"/g)][2]![1]!;
    // Strokes go by differences: a place, then a column from there.
    let [y, top] = [0, Number.POSITIVE_INFINITY];
    for (const [, command, values] of path.matchAll(/([Mmv])([-\d. ]+)/g)) {
      const by = Number(values!.match(/-?[\d.]+/g)!.at(-1));
      y = command === 'M' ? by : y + by;
      top = Math.min(top, y);
    }
    expect((Number(zero) - top) / Number(scale)).toBeCloseTo(9, 0);
  });

  test('a span shows its part alone, with the times for a script', () => {
    const svg = timeline(
      timelineTask({
        span: { fromMs: start + 240 * hour, toMs: start + 480 * hour },
        events: [{ timeMs: start, number: 1 }],
      }),
    );
    expect(svg).toContain(`data-from="${start + 240 * hour}" data-to="${start + 480 * hour}"`);
    expect(svg.match(/class="windows" d="([^"]*)"/)![1]!.match(/M/g)!.length).toBe(40);
    expect(svg).not.toContain('class="event"');
  });

  test('flags of events that are close together do not cover each other', () => {
    const events = [0, 1, 2, 400].map((h, i) => ({ timeMs: start + (300 + h) * hour, number: i + 1 }));
    const svg = timeline(timelineTask({ events }));
    const boxes = [...svg.matchAll(/<rect x="([\d.]+)" y="4" width="16"/g)].map((m) => Number(m[1]));
    expect(boxes.length).toBe(4);
    for (let i = 1; i < 4; i++) expect(boxes[i]! - boxes[i - 1]!).toBeGreaterThanOrEqual(16);
  });

  test('a log has a strip of its own; one that never changed, and one without readings, are drawn', () => {
    const timesMs = Float64Array.from({ length: 100 }, (_, i) => start + i * hour);
    const sensor = (values: Float64Array): TimelineTask['sensors'][number] => ({
      name: 'water <level>',
      unit: 'm',
      readings: { timesMs: timesMs.subarray(0, values.length), values },
    });
    for (const values of [
      timesMs.map((_, i) => 300 + i),
      new Float64Array(100).fill(301.5),
      new Float64Array(0),
    ]) {
      const svg = timeline(timelineTask({ sensors: [sensor(values)] }));
      expect(svg).toContain('water &#60;level&#62;, m');
      expect(svg).not.toMatch(/NaN|Infinity|undefined/);
    }
  });

  test('a log is a line where readings follow each other as usual, however far apart they are drawn, and broken where some are missing', () => {
    const timesMs = Float64Array.from({ length: 100 }, (_, i) => start + i * hour).filter(
      (_, i) => i < 40 || i >= 50,
    );
    const readings = { timesMs, values: timesMs.map((_, i) => Math.sin(i)) };
    const span = { fromMs: start, toMs: start + 99 * hour };
    const svg = timeline(timelineTask({ span, sensors: [{ name: 'level', unit: 'm', readings }] }));
    const d = /class="readings" d="([^"]*)"/.exec(svg)![1]!;
    // Each of 90 readings is a dot; 88 of them are joined to the one before.
    expect(d.match(/h0/g)!.length).toBe(90);
    expect(d.match(/l/g)!.length).toBe(88);
    // The least and the greatest of bins, which overlap from one to the next, are joined as well.
    const twice = Float64Array.from({ length: 100 }, (_, i) => start + Math.floor(i / 2) * 2 * hour);
    const bins = { timesMs: twice, values: twice.map((_, i) => (i % 2 === 0 ? 0 : 1) + i / 1000) };
    const wide = timeline(timelineTask({ span, sensors: [{ name: 'level', unit: 'm', readings: bins }] }));
    const strokes = /class="readings" d="([^"]*)"/.exec(wide)![1]!;
    expect(strokes.match(/[lh](?!0)/g)!.length).toBe(49);
  });

  test('with a scale that is given what lies beyond it is cut off at its panel, the band too', () => {
    const moved = series();
    moved.windows.up_mm.fill(40, 50, 60);
    const ranges = [
      [-10, 10],
      [-10, 10],
      [-10, 10],
    ] as const;
    const svg = timeline(timelineTask({ series: moved, ranges }));
    const [band] = [...svg.matchAll(/class="band" d="([^"]*)"/g)].slice(2).map(([, d]) => d!);
    expect(band!.match(/M/g)!.length).toBe(2);
    let y = 0;
    const reached = Array.from(band!.matchAll(/([Mlv])([-\d. ]+)/g), ([, command, values]) => {
      const by = Number(values!.match(/-?[\d.]+/g)!.at(-1));
      return (y = command === 'M' ? by : y + by);
    });
    // Three panels of the same height share 400 pixels.
    expect(Math.max(...reached) - Math.min(...reached)).toBeLessThanOrEqual(400 / 3 + 1);
  });

  test('a gap in the windows breaks the band', () => {
    const whole = series();
    const keep = (v: Float64Array): Float64Array => v.filter((_, i) => i < 100 || i > 110);
    const windows = Object.fromEntries(
      Object.entries(whole.windows).map(([k, v]) => [k, keep(v)]),
    ) as unknown as StationSeries['windows'];
    const pieces = (svg: string): number => /class="band" d="([^"]*)"/.exec(svg)![1]!.match(/M/g)!.length;
    expect(pieces(timeline(timelineTask({ series: whole })))).toBe(1);
    expect(pieces(timeline(timelineTask({ series: { ...whole, windows } })))).toBe(2);
  });

  test('epochs beyond the scale are counted on the figure, not squeezed in', () => {
    const wild = series();
    wild.epochs.north_mm.fill(4000, 10, 15);
    expect(timeline(timelineTask({ series: wild }))).toMatch(
      /[5-9] epochs beyond the scale|1\d epochs beyond/,
    );
  });

  test('all three axes share one scale', () => {
    const svg = timeline(timelineTask());
    // Labels of neighbouring grid lines in each panel: the same millimetres are the same pixels.
    const ticks = [...svg.matchAll(/<text x="37" y="([\d.]+)" text-anchor="end" class="tick">([^<]+)</g)].map(
      (m) => ({ y: Number(m[1]), mm: Number(m[2]!.replace('\u2212', '-')) }),
    );
    const scales = ticks
      .slice(1)
      .flatMap((t, i) => (t.mm > ticks[i]!.mm ? [(ticks[i]!.y - t.y) / (t.mm - ticks[i]!.mm)] : []));
    expect(scales.length).toBeGreaterThan(4);
    for (const s of scales) expect(s).toBeCloseTo(scales[0]!, 1);
  });

  test('an empty series, and one without bands, are drawn', () => {
    const none = series(0);
    const bare = series();
    for (const v of [bare.windows.eastHalf_mm, bare.windows.northHalf_mm, bare.windows.upHalf_mm])
      v.fill(Number.NaN);
    for (const s of [none, bare])
      expect(timeline(timelineTask({ series: s }))).not.toMatch(/NaN|Infinity|undefined/);
  });
});

describe('plan of means', () => {
  const task = (more: Partial<ScatterTask> = {}): ScatterTask => ({
    id: 'sc',
    width: 400,
    title: 'Means',
    description: 'What it shows',
    windows: series().windows,
    confidence: '95 %',
    present: {
      east_mm: 3,
      north_mm: -4,
      distinguishable: true,
      ellipse: { semiMajor_mm: 2, semiMinor_mm: 1, azimuthDeg: 30 },
    },
    direction: { azimuthDeg: 162, name: 'downstream' },
    ...more,
  });

  test('the present position lies where it is stated, east right and north up, at one scale', () => {
    const svg = planScatter(task());
    const [, x0, y0, x1, y1] = /class="shaft" d="M([\d.]+) ([\d.]+)L([\d.]+) ([\d.]+)"/
      .exec(svg)!
      .map(Number) as [number, number, number, number, number];
    expect((x1 - x0) / 3).toBeCloseTo((y1 - y0) / 4, 2);
    expect(x1).toBeGreaterThan(x0);
    const [rx, ry] = [numbers(svg, 'ellipse', 'rx')[0]!, numbers(svg, 'ellipse', 'ry')[0]!];
    expect(ry / rx).toBeCloseTo(2, 2);
    expect(rx).toBeCloseTo((x1 - x0) / 3, 1);
  });

  test('means of the reference period are marked apart', () => {
    const svg = planScatter(task({ reference: { fromMs: start, toMs: start + 240 * hour } }));
    const count = (name: string): number =>
      new RegExp(`class="${name}" d="([^"]*)"`).exec(svg)![1]!.match(/M|m/g)!.length;
    expect(count('scatter first')).toBe(40);
    expect(count('scatter')).toBeGreaterThan(150);
  });

  test('without a statement, and without means, it is drawn', () => {
    const { present: _, ...bare } = task();
    expect(planScatter(bare)).not.toMatch(/NaN|undefined/);
    expect(planScatter(task({ windows: series(0).windows }))).not.toMatch(/NaN|Infinity|undefined/);
  });
});

describe('time axis', () => {
  test('ticks are round times of the zone of the project, across a change to daylight saving', () => {
    const summer = Date.parse('2026-03-29T01:00:00Z');
    const vienna: Zone = {
      zone: 'Europe/Vienna',
      offsetMs: (ms) => (ms < summer ? hour : 2 * hour),
      offsetName: (ms) => (ms < summer ? 'UTC+01:00' : 'UTC+02:00'),
    };
    const ticks = timeTicks(
      Date.parse('2026-03-27T12:00:00Z'),
      Date.parse('2026-03-31T12:00:00Z'),
      4,
      vienna,
    );
    expect(ticks.map((t) => `${new Date(t.ms).toISOString().slice(0, 16)} ${t.text}`)).toEqual([
      '2026-03-27T23:00 28 Mar',
      '2026-03-28T23:00 29 Mar',
      '2026-03-29T22:00 30 Mar',
      '2026-03-30T22:00 31 Mar',
    ]);
  });
});
