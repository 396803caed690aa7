import { source } from '@stillmark/data/synthetic/noise.ts';
import { expectClose } from '@stillmark/tooling/close';
import { describe, expect, test } from 'vitest';
import {
  applyAffine,
  applyToCovariance,
  atEpoch,
  compose,
  decimalYear,
  FrameRegistry,
  inverse,
  plateModels,
  platesOf,
  plateVelocity,
  publishedLinks,
  toPlateEpoch,
  type FrameLink,
  type HelmertParameters,
} from './index.ts';

const registry = new FrameRegistry();
const random = source(4);
/** Points on and above the ground, all over the earth. */
const points = Float64Array.from({ length: 3 * 500 }, () => 6.4e6 * (2 * random.uniform() - 1));
const moved = (map: Parameters<typeof applyAffine>[0], xyz: Float64Array = points): Float64Array => {
  const out = new Float64Array(xyz.length);
  applyAffine(map, xyz, out);
  return out;
};

describe('frames', () => {
  test('every pair of known frames has a way, there and back is the same point to a nanometre', () => {
    const { frames } = registry;
    expect(frames).toEqual(
      expect.arrayContaining(['ITRF2020', 'ITRF88', 'ETRF2000', 'GDA2020', 'IGS20', 'WGS 84 (G2296)']),
    );
    for (const from of ['ITRF2020', 'ITRF93', 'ETRF2000', 'WGS 84 (G1762)']) {
      for (const to of frames) {
        // Frames of the IGS and PZ-90 are tied at one epoch only.
        const epoch = { IGS14: 2010, IGS20: 2015, 'PZ-90.11': 2010 }[to] ?? 2026.4;
        const there = registry.path(from, to).at(epoch);
        const back = registry.path(to, from).at(epoch);
        expectClose(moved(back, moved(there)), points, { within: 5e-9, unit: 'm' });
      }
    }
  });

  test('a chain is its steps one after the other, and its inverse the inverses in turn', () => {
    const [a, b] = [
      registry.path('ITRF2020', 'ITRF2014').at(2019),
      registry.path('ITRF2014', 'ETRF2000').at(2019),
    ];
    expectClose(moved(compose(a, b)), moved(b, moved(a)), { within: 5e-9, unit: 'm' });
    const backward = compose(inverse(b), inverse(a));
    expectClose(moved(backward, moved(compose(a, b))), points, { within: 5e-9, unit: 'm' });
  });

  test('published tables close: by ITRF2014 or directly, ITRF2008 is the same to the printed digits', () => {
    const direct = moved(registry.path('ITRF2020', 'ITRF2008').at(2015));
    const chain = compose(
      registry.path('ITRF2020', 'ITRF2014').at(2015),
      registry.path('ITRF2014', 'ITRF2008').at(2015),
    );
    expectClose(moved(chain), direct, { within: 1e-7, unit: 'm' });
  });

  test('tables by one organisation through another close to a millimetre or two', () => {
    // EPSG registers the ETRF transformations, the IERS those of the ITRF.
    const direct = registry.path('ITRF2020', 'ETRF2000').at(2020);
    expect(registry.path('ITRF2020', 'ETRF2000').steps.length).toBe(1);
    const chain = compose(
      registry.path('ITRF2020', 'ITRF2008').at(2020),
      registry.path('ITRF2008', 'ETRF2000').at(2020),
    );
    expectClose(moved(chain), moved(direct), { within: 2.5e-3, unit: 'm' });
  });

  test('the sign of the rotation is that of its convention, and nothing else differs', () => {
    const given: HelmertParameters = {
      convention: 'position vector',
      translation_mm: [1, 2, 3],
      scale_ppb: 4,
      rotation_mas: [5, -6, 7],
    };
    const opposite: HelmertParameters = {
      ...given,
      convention: 'coordinate frame',
      rotation_mas: [-5, 6, -7],
    };
    expect(atEpoch(given, undefined)).toEqual(atEpoch(opposite, undefined));
  });

  test('a transformation that a project gives joins the published ones and comes before them', () => {
    const site: FrameLink = {
      from: 'ITRF2020',
      to: 'site',
      source: 'survey of the site',
      convention: 'position vector',
      translation_mm: [120, -80, 40],
      scale_ppb: 0,
      rotation_mas: [0, 0, 0],
    };
    const path = new FrameRegistry([site]).path('ITRF2014', 'site');
    expect(path.steps.map(({ link, backward }) => [link.to, backward])).toEqual([
      ['ITRF2014', true],
      ['site', false],
    ]);
  });

  test('covariances are carried along: M C M, hardly changed by a small rotation, and exactly under none', () => {
    const c = Float64Array.of(4e-6, 1e-6, -5e-7, 3e-6, 2e-7, 9e-6);
    const out = new Float64Array(6);
    applyToCovariance(registry.path('ITRF2020', 'ITRF2014').at(2015), c, out);
    expectClose(
      out.map((v) => v * 1e6),
      c.map((v) => v * 1e6),
      { within: 1e-8, unit: 'mm2' },
    );
    // A quarter turn about Z, as x -> y: variances change places.
    applyToCovariance({ t: [0, 0, 0], s: [-1, -1, 0, 1, -1, 0, 0, 0, 0] }, c, out);
    expectClose(out, [3e-6, -1e-6, -2e-7, 4e-6, -5e-7, 9e-6], { within: 1e-18 });
  });

  test('what is missing or unknown is said, with what is known', () => {
    expect(() => registry.path('ITRF2020', 'ITRF2021')).toThrow(/'ITRF2021' is not known/);
    expect(() => registry.path('ITRF2020', 'ITRF2014').at(undefined)).toThrow(/need an epoch/);
    expect(() => registry.path('ITRF2020', 'ITRF2014').at(20)).toThrow(/20 is not an epoch/);
    expect(registry.path('WGS 84 (G2296)', 'ITRF2020').at(undefined).t).toEqual([0, 0, 0]);
    expect(registry.path('IGS20', 'ITRF2020').at(2015).t).toEqual([0, 0, 0]);
    expect(() => registry.path('IGS20', 'ITRF2020').at(2020)).toThrow(
      /ITRF2020 to IGS20: the parameters hold at 2015 only, not at 2020/,
    );
    const island: FrameLink = { ...publishedLinks[0]!, from: 'here', to: 'there' };
    expect(() => new FrameRegistry([island]).path('here', 'ITRF2020')).toThrow(/no published transformation/);
    expect(() => atEpoch({ ...publishedLinks[0]!, translation_mm: [1, 2] }, 2020)).toThrow(
      /three finite numbers/,
    );
  });

  test('ragged arrays and values that are not finite are refused, with the point', () => {
    const map = registry.path('WGS 84 (G2296)', 'ITRF2020').at(undefined);
    expect(() => applyAffine(map, new Float64Array(4), new Float64Array(4))).toThrow(/no points/);
    expect(() => applyAffine(map, new Float64Array(3), new Float64Array(6))).toThrow(/no room/);
    expect(() => applyAffine(map, Float64Array.of(1, 2, 3, 4, Number.NaN, 6), new Float64Array(6))).toThrow(
      /coordinate 2 is not finite \(point 2\)/,
    );
    expect(() => applyToCovariance(map, new Float64Array(5), new Float64Array(5))).toThrow(/in sixes/);
    applyAffine(map, new Float64Array(0), new Float64Array(0));
  });
});

describe('plate motion', () => {
  const onsala = { x: 3_370_658.378, y: 711_877.314, z: 5_349_787.086 };

  test('a point that moves with its plate stands still on it', () => {
    const v = plateVelocity('ITRF2020', 'EURA', onsala);
    const years = 6.5;
    const later = Float64Array.of(onsala.x + years * v.x, onsala.y + years * v.y, onsala.z + years * v.z);
    applyAffine(toPlateEpoch('ITRF2020', 'EURA', 2026.5, 2020), later, later);
    // What is left is of second order in the angle: far below anything observed.
    expectClose(later, [onsala.x, onsala.y, onsala.z], { within: 1e-7, unit: 'm' });
    expect(1000 * Math.hypot(v.x, v.y, v.z)).toBeGreaterThan(20);
  });

  test('every plate of every model moves at 0.1 to 0.7 degrees in a million years', () => {
    for (const model of plateModels) {
      for (const { code, name } of platesOf(model)) {
        const v = plateVelocity(model, code, { x: 0, y: 0, z: 6_356_752 });
        expect(1000 * Math.hypot(v.x, v.y, v.z)).toBeLessThan(80);
        expect(name).toMatch(/^[A-Z]/);
      }
    }
  });

  test('a plate that a model does not have is refused with those it has', () => {
    expect(() => plateVelocity('ITRF2014', 'CARB', onsala)).toThrow(/has no plate 'CARB'/);
    expect(() => toPlateEpoch('ITRF2014', 'EURA', Number.NaN, 2020)).toThrow(/NaN is not an epoch/);
  });
});

test('a decimal year is the share of its calendar year', () => {
  expect(decimalYear(Date.parse('2026-01-01T00:00:00Z'))).toBe(2026);
  expectClose(decimalYear(Date.parse('2024-07-02T00:00:00Z')), 2024.5, { within: 1e-12 });
  expectClose(decimalYear(Date.parse('2026-11-22T23:00:00Z')), 2026 + (325 + 23 / 24) / 365, {
    within: 1e-12,
  });
});
