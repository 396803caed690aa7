import { describe, expect, test } from 'vitest';
import { networkMap, type MapBackground, type MapTask } from './index.ts';

const task = (background?: MapBackground, more: Partial<MapTask> = {}): MapTask => ({
  id: 'map',
  width: 880,
  height: 640,
  title: 'Map',
  description: 'What it shows',
  confidence: '95 %',
  outline: [],
  stations: [
    { id: 'B1', role: 'base', east_m: 0, north_m: 0, state: 'held', words: 'held' },
    { id: 'S1', role: 'monitoring', east_m: 400, north_m: 150, state: 'still', words: 'still' },
  ],
  ...(background ? { background } : {}),
  ...more,
});
const image: NonNullable<MapBackground['image']> = {
  href: '../assets/background-0123456789ab.png',
  name: 'relief',
  width_px: 40,
  height_px: 30,
  corner_m: [-158.283, 251.851],
  column_m: [19.9262, 2.670236],
  row_m: [1.33512, -9.963103],
  strength: 0.6,
};
const numbers = (text: string): number[] => text.match(/-?[\d.]+(?:e-?\d+)?/g)!.map(Number);

/** Where the figure puts the stations of the task: B1 at the origin of the plan, S1 at 400, 150. */
function placeOf(svg: string): { b1: [number, number]; scale: number } {
  const at = (id: string): [number, number] => {
    const [, x, y] = new RegExp(`data-id="${id}" data-x="([\\d.]+)" data-y="([\\d.]+)"`).exec(svg)!;
    return [Number(x), Number(y)];
  };
  const [b1, s1] = [at('B1'), at('S1')];
  return { b1, scale: (s1[0] - b1[0]) / 400 };
}

describe('image under the map', () => {
  test('turned and skewed: the matrix brings its corners to their places among the stations', () => {
    const svg = networkMap(task({ image, layers: [] }));
    const { b1, scale } = placeOf(svg);
    const [a, b, c, d, e, f] = numbers(/matrix\(([^)]*)\)/.exec(svg)![1]!) as [number, number, number, number, number, number]; // prettier-ignore
    // Corners in metres of GDAL and PROJ: data/worked-examples/geodesy/image-on-plan.json, to the decimetre that the steps above are rounded to.
    for (const [column, row, east, north] of [
      [0, 0, -158.282_91, 251.850_924],
      [40, 0, 638.765_316, 358.660_367],
      [0, 30, -118.229_394, -47.042_166],
      [40, 30, 678.818_85, 59.767_213],
    ] as const) {
      // SVG 2, 8.5: x' = a x + c y + e, y' = b x + d y + f.
      expect(a * column + c * row + e).toBeCloseTo(b1[0] + scale * east, 0);
      expect(b * column + d * row + f).toBeCloseTo(b1[1] - scale * north, 0);
    }
    expect(svg).toMatch(
      /<image id="map-background" href="[^"]+" width="40" height="30" preserveAspectRatio="none" opacity="0.6"/,
    );
  });

  test('is cut off at the neat line, lies under everything, and stands in the key', () => {
    const svg = networkMap(task({ image, layers: [] }));
    expect(svg).toMatch(/<g class="background" clip-path="url\(#map-plot\)">/);
    expect(svg.indexOf('<image')).toBeLessThan(svg.indexOf('class="neatline"'));
    expect(svg.slice(svg.indexOf('class="key"'))).toContain('>relief</text>');
  });

  test('names and addresses are inert, and a name wider than a phone is cut', () => {
    const hostile = '"><script>x</script>';
    const svg = networkMap(
      task({ image: { ...image, href: hostile, name: hostile }, layers: [{ name: hostile, lines: [] }] }),
    );
    expect(svg).not.toMatch(/<script/);
    const wide = networkMap(
      task({ image: { ...image, name: 'W'.repeat(40) }, layers: [] }, { width: 360, height: 470 }),
    );
    expect(wide).toMatch(/>W{20,30}…<\/text>/);
  });
});

describe('layers of lines', () => {
  const long = { closed: false, points_m: [-9000, 20, 0, 20, 200, 21, 9000, 20], label: '<320>' };
  const layers = [
    { name: 'contours', lines: [long, { closed: false, points_m: [-5000, -4000, -4000, -4000] }] },
    { name: 'parcels', lines: [{ closed: true, points_m: [50, -30, 150, -30, 150, 60] }] },
  ];
  const svg = networkMap(task({ layers }));
  const [x, y, width, height] = ['x', 'y', 'width', 'height'].map((name) =>
    Number(new RegExp(`<rect[^>]* ${name}="([\\d.]+)"`).exec(svg)![1]),
  ) as [number, number, number, number];
  /** Points of the paths of a layer, which go on by steps. */
  const pathsOf = (name: string): [number, number][][] => {
    const group = new RegExp(`<g class="layer ${name}">(.*?)</g>`).exec(svg)![1]!;
    return [...group.matchAll(/ d="([^"]+)"/g)].flatMap(([, d]) =>
      d!
        .split('M')
        .slice(1)
        .map((part) => {
          let [px, py] = [0, 0];
          return part.split('l').map((step, i) => {
            const [dx, dy] = numbers(step) as [number, number];
            [px, py] = i === 0 ? [dx, dy] : [px + dx, py + dy];
            return [px, py] as [number, number];
          });
        }),
    );
  };

  test('are cut at the neat line; what lies outside is not drawn', () => {
    const [line, ...others] = pathsOf('layer-1');
    expect(others).toEqual([]);
    const { b1, scale } = placeOf(svg);
    expect(line!.at(0)![0]).toBeCloseTo(x, 1);
    expect(line!.at(-1)![0]).toBeCloseTo(x + width, 0);
    for (const [, py] of line!) expect(Math.abs(py - (b1[1] - 20 * scale))).toBeLessThan(2.5);
    for (const [px, py] of pathsOf('layer-2').flat()) {
      expect(px > x && px < x + width).toBe(true);
      expect(py > y && py < y + height).toBe(true);
    }
  });

  test('areas are drawn as closed lines', () => {
    const [ring] = pathsOf('layer-2');
    expect(ring!.length).toBe(4);
    expect(ring!.at(-1)![0]).toBeCloseTo(ring![0]![0], 5);
  });

  test('are labelled once, on the line, away from signs and names, inert; and named in the key', () => {
    const labels = [
      ...svg.matchAll(/<text transform="translate\(([\d.]+) ([\d.]+)\)rotate\((-?\d+)\)"[^>]*>([^<]*)</g),
    ];
    expect(labels.map(([, , , turn, words]) => [turn, words])).toEqual([['0', '&#60;320&#62;']]);
    const [, lx, ly] = labels[0]!.map(Number) as [number, number, number];
    const { b1, scale } = placeOf(svg);
    expect(ly).toBeCloseTo(b1[1] - 20 * scale, -1);
    expect(Math.hypot(lx - b1[0], ly - b1[1])).toBeGreaterThan(15);
    const key = svg.slice(svg.indexOf('class="key"'));
    expect(key).toMatch(/>contours<[^]*>parcels</);
  });

  test('a label finds no place on a line that is too short or too bent, and is upright on one that runs back', () => {
    const tiny = networkMap(
      task({
        layers: [{ name: 'c', lines: [{ label: '320', closed: false, points_m: [100, 50, 103, 50] }] }],
      }),
    );
    expect(tiny).not.toContain('line-labels');
    const back = networkMap(
      task({
        layers: [{ name: 'c', lines: [{ label: '320', closed: false, points_m: [300, 40, 100, 140] }] }],
      }),
    );
    const [, turn] = /rotate\((-?\d+)\)"[^>]*>320</.exec(back)!;
    expect(Math.abs(Number(turn))).toBeLessThan(90);
    expect(Number(turn)).toBeCloseTo((Math.atan(0.5) * 180) / Math.PI, -0.5);
  });
});

test('the figure grows no higher for its key: the plot gives way, and nothing of the key lies below', () => {
  for (const [width, height] of [[880, 640], [360, 470]] as const) {
    const layers = ['a', 'b', 'c', 'd'].map((name) => ({ name: `${name} layer of lines`, lines: [] }));
    const svg = networkMap(task({ image, layers }, { width, height }));
    const whole = Number(/viewBox="0 0 \d+ (\d+)"/.exec(svg)![1]);
    const ys = [...svg.matchAll(/<text x="[\d.]+" y="([\d.]+)"/g)].map(([, y]) => Number(y));
    expect(Math.max(...ys)).toBeLessThan(whole);
  } // prettier-ignore
});
