export { ReferenceContrast, type ContrastCoefficients, type WindowRange } from './contrast.ts';
export { displacement, judgeTogether, windowBands, type Displacement, type Judged } from './displacement.ts';
export { referenceEstimator, referenceNoise, type StationNoise } from './noise.ts';
export { epochFlag, judgeEpochs, type QualityReport } from './quality.ts';
export {
  neededCompleteness,
  neededReferenceDays,
  referenceEvidence,
  type ReferenceEvidence,
} from './reference.ts';
export {
  analyseStation,
  prepare,
  type PreparedStation,
  type StationAnalysis,
  type StationTask,
} from './station.ts';
export { axes, toTopocentricSeries, type Axis, type TopocentricSeries } from './topocentric-series.ts';
export { usualSpacingMs, windowSolutions, windowsWithin, type WindowSeries } from './windows.ts';
