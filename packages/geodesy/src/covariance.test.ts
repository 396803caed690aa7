import { expectClose } from '@stillmark/tooling/close';
import { describe, expect, test } from 'vitest';
import {
  covarianceFault,
  degrees,
  ellipsoids,
  errorEllipse,
  radians,
  TopocentricFrame,
  type Symmetric3,
} from './index.ts';

const frame = TopocentricFrame.atGeodetic(ellipsoids['WGS 84'], {
  latitude: radians(55),
  longitude: radians(5),
  height: 200,
});

describe('error ellipse', () => {
  test('axes and azimuth of an ellipse turned on purpose come back', () => {
    for (let azimuthDeg = 0; azimuthDeg < 180; azimuthDeg += 7.5) {
      const [major, minor] = [5, 2];
      const [s, c] = [Math.sin(radians(azimuthDeg)), Math.cos(radians(azimuthDeg))];
      const ee = major ** 2 * s * s + minor ** 2 * c * c;
      const nn = major ** 2 * c * c + minor ** 2 * s * s;
      const en = (major ** 2 - minor ** 2) * s * c;
      const ellipse = errorEllipse(ee, en, nn);
      expectClose(ellipse, { semiMajor: major, semiMinor: minor }, { within: 1e-12 });
      expect(Math.abs(((degrees(ellipse.azimuth) - azimuthDeg + 270) % 180) - 90)).toBeLessThan(1e-9);
    }
  });

  test('a circle has azimuth 0, a line has no width', () => {
    expect(errorEllipse(4, 0, 4)).toEqual({ semiMajor: 2, semiMinor: 2, azimuth: 0 });
    expectClose(
      errorEllipse(4, 0, 0),
      { semiMajor: 2, semiMinor: 0, azimuth: Math.PI / 2 },
      { within: 1e-15 },
    );
  });

  test('what is not a covariance is refused', () => {
    expect(() => errorEllipse(1, 2, 1)).toThrow(/larger than its two variances allow/);
    expect(() => errorEllipse(-1, 0, 1)).toThrow(/negative/);
  });
});

describe('covariance propagation', () => {
  const c: Symmetric3 = [4e-6, 1e-6, -5e-7, 3e-6, 2e-7, 9e-6];

  test('trace and determinant do not change under rotation', () => {
    const [a, b, d, e, f, g] = frame.rotateCovariance(c);
    const determinant = ([xx, xy, xz, yy, yz, zz]: Symmetric3) =>
      xx * (yy * zz - yz * yz) - xy * (xy * zz - yz * xz) + xz * (xy * yz - yy * xz);
    expectClose(a + e + g, 16e-6, { within: 1e-19 });
    expectClose(determinant([a, b, d, e, f, g]) * 1e18, determinant(c) * 1e18, { within: 1e-10 });
  });

  test('agrees with the propagation of the same rotation built from differences of points', () => {
    // Columns of R by moving one metre along each geocentric axis: no matrix of the code under test is used.
    const columns = [
      frame.rotate({ x: 1, y: 0, z: 0 }),
      frame.rotate({ x: 0, y: 1, z: 0 }),
      frame.rotate({ x: 0, y: 0, z: 1 }),
    ];
    const full = [
      [c[0], c[1], c[2]],
      [c[1], c[3], c[4]],
      [c[2], c[4], c[5]],
    ];
    let ee = 0;
    let nu = 0;
    for (let k = 0; k < 3; k++) {
      for (let l = 0; l < 3; l++) {
        ee += columns[k]!.east * full[k]![l]! * columns[l]!.east;
        nu += columns[k]!.north * full[k]![l]! * columns[l]!.up;
      }
    }
    const rotated = frame.rotateCovariance(c);
    expectClose([rotated[0] * 1e6, rotated[4] * 1e6], [ee * 1e6, nu * 1e6], { within: 1e-12, unit: 'mm2' });
  });
});

describe('positive semi-definite', () => {
  test.each([
    ['fine', [4, 1, 0, 3, 0, 9], undefined],
    ['singular', [1, 1, 1, 1, 1, 1], undefined],
    ['zero', [0, 0, 0, 0, 0, 0], undefined],
    ['negative variance', [4, 0, 0, -3, 0, 9], 'negative'],
    ['too much correlation', [1, 1.5, 0, 1, 0, 1], 'larger than'],
    ['covariance without variance', [0, 1, 0, 1, 0, 1], 'larger than'],
    ['contradiction', [1, 0.9, 0.9, 1, -0.9, 1], 'contradict'],
    ['not a number', [1, 0, 0, Number.NaN, 0, 1], 'finite'],
  ] as const)('%s', (_, elements, fault) => {
    const found = covarianceFault(elements);
    if (fault === undefined) expect(found).toBeUndefined();
    else expect(found).toContain(fault);
  });
});
