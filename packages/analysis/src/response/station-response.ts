import { ProblemError } from '@stillmark/problems';
import type { CovariateToday, ResponseRecord, StatementSettings } from '@stillmark/records';
import { presentOf, type PresentTask } from '../present.ts';
import type { PreparedStation, StationWatch } from '../station.ts';
import type { KnownStep } from '../series-model.ts';
import type { Judged, JudgedVelocity } from '../statements.ts';
import { watchSeries, type WatchedFigure, type WatchedMeans } from '../triggers/evaluate.ts';
import { forget, type Remember } from '../remember.ts';
import { trajectoryOf } from '../trajectory.ts';
import { windowSolutions, type WindowSeries } from '../windows.ts';
import { AppliedResponse } from './apply.ts';
import type { Covariate } from './covariate.ts';
import { fitResponse, type ResponseModel } from './fit.ts';
import { perAxis } from '../topocentric-series.ts';

export interface ResponseSettings {
  /** Logs that may move the structure. */
  readonly covariates: readonly Covariate[];
  readonly meansMs: number;
  readonly seasons: boolean;
  /** What a person has committed of this station in this stream. */
  readonly committed?: {
    readonly model: ResponseModel;
    readonly record: Omit<ResponseRecord, 'corrected' | 'reason'>;
  };
}

export interface ResponseAnalysis {
  /** Means less the response that triggers watch, by the names of those. */
  readonly watched?: WatchedMeans;
  readonly record: Omit<ResponseRecord, 'corrected'>;
  /** The displacement less the committed response, before it is judged together with others. */
  readonly corrected?: {
    readonly judged: Judged;
    readonly today: readonly CovariateToday[];
    readonly velocity?: JudgedVelocity;
    /** Windows less the response and the steps that are tied. */
    readonly windows: WindowSeries;
  };
}

export interface StationResponseTask extends Omit<PresentTask, 'reference'> {
  /** Memory of what was computed from the same inputs before. */
  readonly remember?: Remember;
  readonly reference?: PresentTask['reference'];
  readonly settings: StatementSettings;
  readonly knownSteps: readonly KnownStep[];
  readonly response: ResponseSettings;
  readonly watch?: readonly StationWatch[];
  readonly figureOf: (quantity: StationWatch['quantity']) => WatchedFigure;
}

/**
 * What logs do to a station: the committed model with the displacement less it, or, where none is committed, what a fit to the whole
 * series shows, which stands in no figure.
 *
 * @param daily means over days
 * @returns undefined where nothing is committed and the series is too short to look
 */
export function stationResponse(
  task: StationResponseTask,
  prepared: PreparedStation,
  daily: WindowSeries,
): ResponseAnalysis | { readonly reason: string } | undefined {
  const { covariates, meansMs, seasons, committed } = task.response;
  if (committed) {
    if (!task.reference)
      return { record: { ...committed.record, reason: 'no reference position is committed' } };
    try {
      const { corrected, watched } = correctedOf({ ...task, reference: task.reference }, prepared, daily);
      const record = corrected
        ? committed.record
        : { ...committed.record, reason: 'no mean of the present has every log' };
      return { record, ...(corrected ? { corrected } : {}), ...(watched ? { watched } : {}) };
    } catch (error) {
      if (!(error instanceof ProblemError)) throw error;
      return { record: { ...committed.record, reason: error.problems[0]!.message } };
    }
  }
  if (covariates.length === 0) return undefined;
  const windows = responseWindows(prepared, meansMs);
  const n = windows.slot.length;
  if (n === 0) return undefined;
  try {
    const { record } = fitResponse({
      windows,
      events: task.knownSteps,
      covariates,
      fromMs: windows.slot[0]! * meansMs,
      toMs: (windows.slot[n - 1]! + 1) * meansMs,
      seasons,
      confidence: task.settings.confidence,
    });
    return { record };
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error;
    return { reason: error.problems[0]!.message };
  }
}

/** The means on which a response model rests. */
export function responseWindows({ local, quality, spacing }: PreparedStation, meansMs: number): WindowSeries {
  return windowSolutions(local, quality.flag, meansMs, spacing);
}

function correctedOf(
  task: StationResponseTask & { readonly reference: PresentTask['reference'] },
  prepared: PreparedStation,
  daily: WindowSeries,
): Pick<ResponseAnalysis, 'corrected' | 'watched'> {
  const { covariates, committed } = task.response;
  const { model } = committed!;
  const applied = new AppliedResponse(prepared.windows, task.reference, model, covariates);
  const adjust = applied.adjustment();
  const { judged, now, contrast } = presentOf({ ...task, adjust }, applied.windows);
  const less = (task.watch ?? []).filter(({ figures }) => figures === 'less response');
  const watched =
    less.length > 0
      ? { watched: watchSeries(applied.windows, { ...task, adjust }, less, (w) => task.figureOf(w.quantity)) }
      : {};
  if (!judged) return watched;
  const corrected = {
    judged,
    today: applied.today(now, covariates),
    windows: {
      ...applied.windows,
      ...perAxis((axis) => {
        const offset = contrast.offsets(axis);
        return applied.windows[axis].map((v, i) => v - offset[i]!);
      }),
    },
    ...velocityOf(task, daily, model),
  };
  return { corrected, ...watched };
}

/** The velocity of the daily means less the response; its interval knows the noise, and takes the coefficients as they stand. */
function velocityOf(
  {
    reference,
    knownSteps,
    settings,
    response,
    remember = forget,
  }: StationResponseTask & { readonly reference: PresentTask['reference'] },
  daily: WindowSeries,
  model: ResponseModel,
): { velocity?: JudgedVelocity } {
  try {
    const applied = new AppliedResponse(daily, reference, model, response.covariates);
    const { confidence } = settings;
    const trajectory = remember('trajectory less response', [applied.windows, knownSteps, confidence], () =>
      trajectoryOf(applied.windows, knownSteps, confidence, false),
    );
    return trajectory ? { velocity: trajectory.velocity } : {};
  } catch (error) {
    if (error instanceof ProblemError) return {};
    throw error;
  }
}
