import {
  confidenceFactorEstimated,
  detectableNoncentrality,
  fP,
  holmAdjust,
  studentFactor,
  studentP,
} from '@stillmark/estimation';
import { degrees, errorEllipse } from '@stillmark/geodesy';
import type {
  DisplacementStatement,
  GridStatement,
  HorizontalStatement,
  RateStatement,
  Span,
  StatementSettings,
  StructureStatement,
  UpStatement,
} from '@stillmark/records';
import { along, type Movement } from './movement.ts';
import { forget, type Remember } from './remember.ts';
import type { StationNoise } from './noise.ts';

/** Below this the quantiles are so wide that a figure would only look like one. */
export const leastFreedom = 2;

export interface Judged {
  readonly displacement: Movement;
  readonly window: Span & { readonly epochs: number; readonly windows: number };
  readonly noise: StationNoise;
  /** Slope of the last span of time, in millimetres in {@link rateUnitDays}; absent where the span is not filled. */
  readonly rate?: { readonly movement: Movement; readonly span: Span };
  /** Azimuth of the y axis of the project's grid at the station in radians, where the project has one. */
  readonly gridNorth?: number;
}

/** Rates are told in millimetres in so many days: a month that is always equally long. */
export const rateUnitDays = 30;

/**
 * Statements of all stations, tested together: horizontal (F test, two dimensions) and up (t test) of each are one family,
 * so that any still network is called moved with at most `familySignificance` (Holm 1979). Rates are a family of their own.
 *
 * The minimal detectable displacement is that of the strictest step of the same family, significance divided by the
 * number of tests: what is smaller could have been there without being found in more than 1 - power of cases.
 *
 * @param longitudinal azimuth of the structure's longitudinal axis in radians, where it has one
 */
export function judgeTogether(
  stations: readonly Judged[],
  settings: StatementSettings,
  longitudinal?: number,
  remember?: Remember,
): DisplacementStatement[] {
  const displacements = testTogether(
    stations.map((s) => s.displacement),
    settings,
    remember,
  );
  const withRate = stations.filter((s) => s.rate !== undefined);
  const rates = testTogether(
    withRate.map((s) => s.rate!.movement),
    settings,
    remember,
  );
  return stations.map((station, i) => {
    const { displacement: d, window, noise, rate, gridNorth } = station;
    const turned: Turned = {
      ...(longitudinal === undefined ? {} : { longitudinal }),
      ...(gridNorth === undefined ? {} : { gridNorth }),
    };
    return {
      kind: 'displacement',
      window,
      ...vectorOf(d),
      horizontal: displacements[i]!.horizontal,
      // A station whose up cannot be judged comes with no displacement at all.
      up: displacements[i]!.up!,
      ...otherAxes(d, settings, turned),
      ...(rate ? { rate: rateOf(rate, rates[withRate.indexOf(station)]!, settings, turned) } : {}),
      noise: noise.record,
    };
  });
}

/** One velocity of a whole series, with its span. */
export interface JudgedVelocity {
  readonly movement: Movement;
  readonly span: Span;
  readonly gridNorth?: number;
}

/** Velocities of all stations, in millimetres a year, as one family of tests. */
export function judgeVelocities(
  velocities: readonly JudgedVelocity[],
  settings: StatementSettings,
  longitudinal?: number,
  remember?: Remember,
): RateStatement[] {
  const tested = testTogether(
    velocities.map(({ movement }) => movement),
    settings,
    remember,
  );
  return velocities.map(({ movement, span, gridNorth }, i) =>
    rateOf(
      { movement, span },
      tested[i]!,
      settings,
      {
        ...(longitudinal === undefined ? {} : { longitudinal }),
        ...(gridNorth === undefined ? {} : { gridNorth }),
      },
      daysOfYear,
    ),
  );
}

/** Velocities are told in millimetres in so many days: a year. */
export const daysOfYear = 365.25;

function vectorOf(
  m: Movement,
): Pick<DisplacementStatement, 'east_mm' | 'north_mm' | 'up_mm' | 'covariance_mm2'> {
  return {
    east_mm: m.east_mm,
    north_mm: m.north_mm,
    up_mm: m.up_mm,
    covariance_mm2: { ee: m.ee, en: m.en, nn: m.nn, uu: m.uu },
  };
}

function rateOf(
  { movement, span }: NonNullable<Judged['rate']>,
  tested: Tested,
  settings: StatementSettings,
  turned: Turned,
  perDays = rateUnitDays,
): RateStatement {
  return {
    ...span,
    perDays,
    ...vectorOf(movement),
    ...tested,
    ...otherAxes(movement, settings, turned),
  };
}

/** Azimuths of further axes in which a movement is told, radians. */
interface Turned {
  readonly longitudinal?: number;
  readonly gridNorth?: number;
}

/** A movement in the axes of the structure (transverse to the right of longitudinal) and of the grid (x to the right of y). */
function otherAxes(
  m: Movement,
  { confidence }: StatementSettings,
  { longitudinal, gridNorth }: Turned,
): { structure?: StructureStatement; grid?: GridStatement } {
  const factor = studentFactor(confidence, m.horizontalFreedom);
  const inAxis = (azimuth: number): [value: number, half: number] => {
    const { value, variance } = along(m, azimuth);
    return [value, factor * Math.sqrt(variance)];
  };
  const result: { structure?: StructureStatement; grid?: GridStatement } = {};
  if (longitudinal !== undefined) {
    const [longitudinal_mm, longitudinalPlusMinus_mm] = inAxis(longitudinal);
    const [transverse_mm, transversePlusMinus_mm] = inAxis(longitudinal + Math.PI / 2);
    result.structure = {
      longitudinal_mm,
      longitudinalPlusMinus_mm,
      transverse_mm,
      transversePlusMinus_mm,
    };
  }
  if (gridNorth !== undefined) {
    const [y_mm, yPlusMinus_mm] = inAxis(gridNorth);
    const [x_mm, xPlusMinus_mm] = inAxis(gridNorth + Math.PI / 2);
    result.grid = { x_mm, xPlusMinus_mm, y_mm, yPlusMinus_mm };
  }
  return result;
}

interface Tested {
  readonly horizontal: HorizontalStatement;
  /** Absent where the degrees of freedom of up are too few. */
  readonly up?: UpStatement;
}

/** Horizontal and up of several movements as one family; an up of too few degrees of freedom is not tested. */
function testTogether(
  movements: readonly Movement[],
  settings: StatementSettings,
  remember: Remember = forget,
): Tested[] {
  const horizontals = movements.map(horizontalTest);
  const ups = movements.map((m) =>
    m.upFreedom < leastFreedom ? undefined : studentP(m.up_mm / Math.sqrt(m.uu), m.upFreedom),
  );
  const tests = [...horizontals.map(({ p }) => p), ...ups.filter((p) => p !== undefined)];
  const adjusted = holmAdjust(tests);
  let next = movements.length;
  const upAdjusted = ups.map((p) => (p === undefined ? 1 : adjusted[next++]!));
  const strictest = settings.familySignificance / Math.max(1, tests.length);
  const freedoms = movements.map((m) => [m.horizontalFreedom, m.upFreedom] as const);
  // In sigma; degrees of freedom change with every window, and not within one.
  const detectable = remember('detectable', [strictest, settings.power, freedoms], () => {
    const size = (dimension: number, freedom: number): number =>
      Math.sqrt(detectableNoncentrality(strictest, settings.power, dimension, freedom));
    return freedoms.map(([horizontal, up]) => ({
      horizontal: size(2, horizontal),
      up: up < leastFreedom ? Number.NaN : size(1, up),
    }));
  });
  return movements.map((m, i) => {
    const ellipse = errorEllipse(m.ee, m.en, m.nn);
    const factor = confidenceFactorEstimated(2, settings.confidence, m.horizontalFreedom);
    const azimuth = Math.atan2(m.east_mm, m.north_mm);
    return {
      horizontal: {
        magnitude_mm: Math.hypot(m.east_mm, m.north_mm),
        azimuthDeg: (degrees(azimuth) + 360) % 360,
        plusMinus_mm:
          studentFactor(settings.confidence, m.horizontalFreedom) * Math.sqrt(along(m, azimuth).variance),
        degreesOfFreedom: m.horizontalFreedom,
        statistic: horizontals[i]!.statistic,
        p: horizontals[i]!.p,
        pAdjusted: adjusted[i]!,
        distinguishable: adjusted[i]! <= settings.familySignificance,
        detectable_mm: detectable[i]!.horizontal * ellipse.semiMajor,
        ellipse: {
          semiMajor_mm: factor * ellipse.semiMajor,
          semiMinor_mm: factor * ellipse.semiMinor,
          azimuthDeg: degrees(ellipse.azimuth),
        },
      },
      ...(ups[i] === undefined ? {} : { up: upOf(m, ups[i], upAdjusted[i]!, detectable[i]!.up) }),
    };
  });

  function upOf(m: Movement, p: number, pAdjusted: number, sigmas: number): UpStatement {
    return {
      value_mm: m.up_mm,
      plusMinus_mm: studentFactor(settings.confidence, m.upFreedom) * Math.sqrt(m.uu),
      degreesOfFreedom: m.upFreedom,
      p,
      pAdjusted,
      distinguishable: pAdjusted <= settings.familySignificance,
      detectable_mm: sigmas * Math.sqrt(m.uu),
    };
  }
}

/** F = d' C^-1 d / 2 with the horizontal covariance. */
export function horizontalTest(m: Movement): { statistic: number; p: number } {
  const determinant = m.ee * m.nn - m.en * m.en;
  const quadratic =
    (m.nn * m.east_mm ** 2 - 2 * m.en * m.east_mm * m.north_mm + m.ee * m.north_mm ** 2) / determinant;
  const statistic = quadratic / 2;
  return { statistic, p: fP(statistic, 2, m.horizontalFreedom) };
}

/** Movements as one family of tests; `up` is there for all, since those of too few degrees of freedom are not told. */
export function judgeMovements(
  movements: readonly Movement[],
  settings: StatementSettings,
  remember?: Remember,
): { horizontal: HorizontalStatement; up: UpStatement }[] {
  return testTogether(movements, settings, remember).map(({ horizontal, up }) => ({ horizontal, up: up! }));
}

/** One figure in one dimension: its value, variance (square of its unit) and the degrees of freedom of that. */
export interface Scalar {
  readonly value: number;
  readonly variance: number;
  readonly freedom: number;
}

/** Figures of one dimension as one family of tests; a figure of too few degrees of freedom is not tested. */
export function judgeScalars(
  scalars: readonly Scalar[],
  { confidence, familySignificance, power }: StatementSettings,
): (UpStatement | undefined)[] {
  const tested = scalars.filter(({ freedom }) => freedom >= leastFreedom);
  const p = tested.map(({ value, variance, freedom }) => studentP(value / Math.sqrt(variance), freedom));
  const adjusted = holmAdjust(p);
  const strictest = familySignificance / Math.max(1, tested.length);
  return scalars.map((scalar) => {
    const i = tested.indexOf(scalar);
    if (i < 0) return undefined;
    const { value, variance, freedom } = scalar;
    const sigma = Math.sqrt(variance);
    return {
      value_mm: value,
      plusMinus_mm: studentFactor(confidence, freedom) * sigma,
      degreesOfFreedom: freedom,
      p: p[i]!,
      pAdjusted: adjusted[i]!,
      distinguishable: adjusted[i]! <= familySignificance,
      detectable_mm: Math.sqrt(detectableNoncentrality(strictest, power, 1, freedom)) * sigma,
    };
  });
}
