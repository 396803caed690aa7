import { toTopocentricSeries } from '@stillmark/analysis';
import { source } from '@stillmark/data/synthetic/noise.ts';
import {
  degrees,
  ellipsoids,
  errorEllipse,
  errorEllipsoid,
  radians,
  TopocentricFrame,
  type Symmetric3,
} from '@stillmark/geodesy';
import { expectClose } from '@stillmark/tooling/close';
import { EigenvalueDecomposition, Matrix } from 'ml-matrix';
import { describe, expect, test } from 'vitest';

// C_enu = R C_xyz R' with R of IOGP 373-7-2 (method 9836), multiplied by a general matrix library; ellipses against its
// eigenvalue decomposition. 200 places and covariances from a seeded source.

const random = source(20261125);
const cases = Array.from({ length: 200 }, () => {
  const [latitude, longitude] = [180 * random.uniform() - 90, 360 * random.uniform() - 180];
  const factor = Matrix.from1DArray(
    3,
    3,
    Array.from({ length: 9 }, () => 0.004 * random.normal()),
  );
  return { latitude, longitude, covariance: factor.mmul(factor.transpose()) };
});

function rotation(latitude: number, longitude: number): Matrix {
  const [f, l] = [radians(latitude), radians(longitude)];
  const { sin, cos } = Math;
  return new Matrix([
    [-sin(l), cos(l), 0],
    [-sin(f) * cos(l), -sin(f) * sin(l), cos(f)],
    [cos(f) * cos(l), cos(f) * sin(l), sin(f)],
  ]);
}

const upper = (m: Matrix): Symmetric3 => [
  m.get(0, 0),
  m.get(0, 1),
  m.get(0, 2),
  m.get(1, 1),
  m.get(1, 2),
  m.get(2, 2),
];

describe('covariances against a general matrix library (ml-matrix)', () => {
  test('propagation from geocentric to topocentric axes', () => {
    for (const { latitude, longitude, covariance } of cases) {
      const frame = TopocentricFrame.atGeodetic(ellipsoids['GRS 1980'], {
        latitude: radians(latitude),
        longitude: radians(longitude),
        height: 300,
      });
      const r = rotation(latitude, longitude);
      const expected = upper(r.mmul(covariance).mmul(r.transpose()));
      const mm2 = (c: readonly number[]): number[] => c.map((v) => v * 1e6);
      expectClose(mm2(frame.rotateCovariance(upper(covariance))), mm2(expected), {
        within: 1e-9,
        unit: 'mm2',
      });
      const { variance } = toTopocentricSeries(
        {
          stream: '',
          station: '',
          timesMs: Float64Array.of(0),
          xyz: Float64Array.from([frame.origin.x, frame.origin.y, frame.origin.z]),
          covariance: Float64Array.from(upper(covariance)),
        },
        frame,
      );
      expectClose(
        mm2([variance.east[0]!, variance.north[0]!, variance.up[0]!]),
        mm2([expected[0], expected[3], expected[5]]),
        { within: 1e-9, unit: 'mm2' },
      );
    }
  });

  test('axes of error ellipsoids: lengths and directions', () => {
    for (const { covariance } of cases) {
      const evd = new EigenvalueDecomposition(covariance, { assumeSymmetric: true });
      const order = [0, 1, 2].sort((i, k) => evd.realEigenvalues[k]! - evd.realEigenvalues[i]!);
      errorEllipsoid(upper(covariance)).forEach(({ semiAxis, azimuth, plunge }, i) => {
        const k = order[i]!;
        expectClose(1000 * semiAxis, 1000 * Math.sqrt(Math.max(0, evd.realEigenvalues[k]!)), {
          within: 1e-9,
          unit: 'mm',
        });
        // The same line: the direction and its eigenvector are parallel or opposite.
        const direction = [
          Math.sin(azimuth) * Math.cos(plunge),
          Math.cos(azimuth) * Math.cos(plunge),
          -Math.sin(plunge),
        ];
        const along = direction.reduce((sum, d, row) => sum + d * evd.eigenvectorMatrix.get(row, k), 0);
        expect(Math.abs(along)).toBeGreaterThan(1 - 1e-9);
        expect(plunge).toBeGreaterThanOrEqual(0);
      });
    }
  });

  test('semi-axes and azimuths of error ellipses', () => {
    for (const { covariance } of cases) {
      const [ee, en, nn] = [covariance.get(0, 0), covariance.get(0, 1), covariance.get(1, 1)];
      const ellipse = errorEllipse(ee, en, nn);
      const evd = new EigenvalueDecomposition(
        new Matrix([
          [ee, en],
          [en, nn],
        ]),
        { assumeSymmetric: true },
      );
      const major = evd.realEigenvalues[0]! > evd.realEigenvalues[1]! ? 0 : 1;
      const axes = [evd.realEigenvalues[major]!, evd.realEigenvalues[1 - major]!].map(
        (v) => 1000 * Math.sqrt(Math.max(0, v)),
      );
      expectClose([1000 * ellipse.semiMajor, 1000 * ellipse.semiMinor], axes, { within: 1e-6, unit: 'mm' });
      const [east, north] = [evd.eigenvectorMatrix.get(0, major), evd.eigenvectorMatrix.get(1, major)];
      const azimuth = (degrees(Math.atan2(east, north)) + 360) % 180;
      const apart = Math.abs(((degrees(ellipse.azimuth) - azimuth + 270) % 180) - 90);
      expect(apart).toBeLessThan(1e-6);
    }
  });
});
