export { decimalYear } from './decimal-year.ts';
export {
  applyAffine,
  applyToCovariance,
  atEpoch,
  compose,
  inverse,
  type Affine,
  type HelmertParameters,
  type RotationConvention,
} from './helmert.ts';
export { transformPoints, type Points } from './points.ts';
export {
  plateModels,
  plateRotation,
  platesOf,
  plateVelocity,
  sourceOf,
  toPlateEpoch,
  type PlateModel,
} from './plate-motion.ts';
export { FramePath, FrameRegistry, isPublishedFrame, publishedLinks, type FrameLink } from './registry.ts';
