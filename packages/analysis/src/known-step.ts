import { ProblemError } from '@stillmark/problems';
import { dayMs, type TieRecord } from '@stillmark/records';
import { ReferenceContrast } from './contrast.ts';
import { noiseAboutLine } from './noise.ts';
import { tieRecords, tieSteps, type Step } from './ties.ts';
import { selected, windowsWithin, type WindowSeries } from './windows.ts';

/** Noise about a step is learnt from so long on each side of it. */
const aroundMs = 14 * dayMs;

/**
 * Size of one step of a series in millimetres, with its interval, by itself: no reference position is needed, as at acceptance before the
 * reference period begins. The difference of the means of the days beside it (`tieSpanMs`), under noise learnt about a straight line and all
 * steps within two weeks of it.
 *
 * @param steps all steps of the series, the one at `atMs` among them
 * @returns undefined where the windows beside it are too few
 */
export function knownStep(
  windows: WindowSeries,
  steps: readonly Step[],
  atMs: number,
  confidence: number,
): TieRecord | undefined {
  const [fromMs, toMs] = [atMs - aroundMs, atMs + aroundMs];
  const { from, to } = windowsWithin(windows, fromMs, toMs);
  const near = selected(
    windows,
    Array.from({ length: to - from }, (_, i) => from + i),
  );
  try {
    const ties = tieSteps(
      near,
      steps.filter((step) => step.atMs > fromMs && step.atMs < toMs),
      { from: 0, to: 0 },
    );
    const which = ties.findIndex((tie) => tie.atMs === atMs);
    if (which < 0) return undefined;
    const contrast = new ReferenceContrast(near, { from: 0, to: near.slot.length }, ties);
    return tieRecords(near, contrast, noiseAboutLine(near, contrast), confidence)[which];
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error;
    return undefined;
  }
}
