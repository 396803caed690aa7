export {
  confidenceFactor,
  confidenceFactorEstimated,
  detectableNoncentrality,
  fP,
  noncentralFUpper,
  studentFactor,
  studentP,
} from './distributions.ts';
export { flickerCovariance, flickerD, flickerStepFactor, powerLawResponse } from './flicker.ts';
export { holmAdjust } from './holm.ts';
export { hampel, madToSigma, median } from './robust.ts';
export {
  estimateTogether,
  satterthwaite,
  shareLikelihood,
  WhiteFlickerReml,
  type NoiseComponents,
} from './reml.ts';
