import {
  perAxis,
  type Covariate,
  type FittedResponse,
  type ResponseModel,
  type ResponseSettings,
} from '@stillmark/analysis';
import type { CommittedResponse, Project } from '@stillmark/project';
import type { CheckRecord, CovariateRecord, ReadingSeries } from '@stillmark/records';

const hourMs = 3_600_000;

/** The logs that may move a structure, those without readings left out. */
export function covariatesOf(
  { sensors }: Project,
  readings: ReadonlyMap<string, ReadingSeries>,
): Covariate[] {
  return sensors.flatMap(({ name, what, unit, response }) => {
    const series = readings.get(name);
    if (!response || !series || series.timesMs.length === 0) return [];
    return [{ sensor: name, what, unit, readings: series, longestLagMs: response.longestLag ?? 0 }];
  });
}

export function responseSettings(
  project: Project,
  readings: ReadonlyMap<string, ReadingSeries>,
  committed: CommittedResponse | undefined,
): ResponseSettings & { tides: boolean } {
  const { means, seasons, tides } = project.response;
  return {
    covariates: covariatesOf(project, readings),
    meansMs: means,
    seasons,
    tides,
    ...(committed ? { committed: ofEntry(committed) } : {}),
  };
}

/** A fitted response as `response-models.yaml` keeps it; six digits are below anything that can be meant. */
export function modelEntry({ model, record }: FittedResponse): CommittedResponse['model'] {
  const short = (v: number): number => Number(v.toPrecision(6));
  const coefficient = ({ value_mm, plusMinus_mm, share }: CovariateRecord['east']) => ({
    mm: short(value_mm),
    plusMinus_mm: short(plusMinus_mm),
    share: short(share),
  });
  return {
    means_h: record.meansMs / hourMs,
    means: record.means,
    seasons: record.seasons,
    logs: record.covariates.map((c) => ({
      sensor: c.sensor,
      what: c.what,
      unit: c.unit,
      lag_h: c.lagMs / hourMs,
      lagFrom_h: c.lagLowMs / hourMs,
      lagTo_h: c.lagHighMs / hourMs,
      low: short(c.low),
      high: short(c.high),
      east: coefficient(c.east),
      north: coefficient(c.north),
      up: coefficient(c.up),
      withVelocity: short(c.withVelocity),
      withOthers: c.withOthers.map(({ sensor, correlation }) => ({
        sensor,
        correlation: short(correlation),
      })),
    })),
    covariance_mm2: perAxis((axis) => model.covariance[axis].map((v) => short(1e6 * v))),
    degreesOfFreedom: perAxis((axis) => short(model.degreesOfFreedom[axis])),
    eastNorth: short(model.eastNorth),
    band_mm: perAxis((axis) => ({
      before: short(record.band[axis].before_mm),
      after: short(record.band[axis].after_mm),
    })),
  };
}

function ofEntry(entry: CommittedResponse): NonNullable<ResponseSettings['committed']> {
  const { model: m, evidence } = entry;
  const covariates = m.logs.map((log): CovariateRecord => {
    const coefficient = ({ mm, plusMinus_mm, share }: (typeof log)['east']) => ({
      value_mm: mm,
      plusMinus_mm,
      share,
    });
    return {
      sensor: log.sensor,
      what: log.what,
      unit: log.unit,
      lagMs: log.lag_h * hourMs,
      lagLowMs: log.lagFrom_h * hourMs,
      lagHighMs: log.lagTo_h * hourMs,
      low: log.low,
      high: log.high,
      east: coefficient(log.east),
      north: coefficient(log.north),
      up: coefficient(log.up),
      withVelocity: log.withVelocity,
      withOthers: log.withOthers,
    };
  });
  const square = (values: readonly number[]): number[] => values.map((v) => v / 1e6);
  const model: ResponseModel = {
    meansMs: m.means_h * hourMs,
    covariates: covariates.map(({ sensor, lagMs, low, high, east, north, up }) => ({
      sensor,
      lagMs,
      low,
      high,
      east: east.value_mm / 1000,
      north: north.value_mm / 1000,
      up: up.value_mm / 1000,
    })),
    covariance: {
      east: square(m.covariance_mm2.east),
      north: square(m.covariance_mm2.north),
      up: square(m.covariance_mm2.up),
    },
    degreesOfFreedom: m.degreesOfFreedom,
    eastNorth: m.eastNorth,
  };
  const band = ({ before, after }: { before: number; after: number }) => ({
    before_mm: before,
    after_mm: after,
  });
  return {
    model,
    record: {
      from: entry.from,
      to: entry.to,
      commitment: {
        by: entry.by,
        committed: entry.committed,
        ...(entry.despite === undefined ? {} : { despite: entry.despite }),
      },
      meansMs: model.meansMs,
      means: m.means,
      seasons: m.seasons,
      covariates,
      band: { east: band(m.band_mm.east), north: band(m.band_mm.north), up: band(m.band_mm.up) },
      checks: evidence.checks.map(ofCheckEntry),
    },
  };
}

/** Names of checks have no spaces; what stands after one says of what. */
function ofCheckEntry({
  check,
  verdict,
  value,
  limit,
  unit,
}: CommittedResponse['evidence']['checks'][number]): CheckRecord {
  const [name, ...of] = check.split(' ');
  return {
    check: name as CheckRecord['check'],
    ...(of.length > 0 ? { of: of.join(' ') } : {}),
    unit: unit ?? '',
    ...(value === undefined ? {} : { value }),
    limit,
    verdict,
  };
}
