export {
  chiSquareQuantile,
  confidenceFactor,
  confidenceFactorEstimated,
  detectableNoncentrality,
  fP,
  noncentralFUpper,
  studentFactor,
  studentP,
} from './distributions.ts';
export { flickerCovariance, flickerD, flickerStepFactor, powerLawResponse } from './flicker.ts';
export { PowerLawFilter } from './power-law-filter.ts';
export { Whitener } from './whitener.ts';
export { symmetricEigen, type SymmetricEigen } from './linear-algebra.ts';
export { holmAdjust } from './holm.ts';
export { hampel, madToSigma, median } from './robust.ts';
export {
  estimateTogether,
  satterthwaite,
  noiseAxes,
  shareLikelihood,
  type Stretch,
  WhiteFlickerReml,
  type NoiseComponents,
} from './reml.ts';
export { leastSquares, LeastSquaresDesign, type LeastSquares } from './least-squares.ts';
export { noiseDensity, periodograms, spectrumBands } from './periodogram.ts';
export { congruency, iterativeDatum, transformed, translationDatum, type Congruency } from './similarity.ts';
export { spectralIndex, type SpectralIndex } from './spectral-index.ts';
export { medianTrend, type MedianTrend } from './median-trend.ts';
export { PowerLawGls, type GlsFit } from './power-law-gls.ts';
export {
  averagePower,
  fitTrajectories,
  type Estimate,
  type SeriesGroup,
  type TrajectoryFit,
} from './trajectory.ts';
