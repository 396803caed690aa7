export { mapProjection } from './epsg.ts';
export { MapProjection, type Distortion, type Grid } from './projection.ts';
export { SiteGrid, type SiteCoordinates, type SiteGridParameters } from './site-grid.ts';
export {
  affineDeterminant,
  composedAffine,
  fittedAffine,
  inverseAffine,
  throughAffine,
  type PlaneAffine,
  type PlanePoint,
} from './plane-affine.ts';
export { mapOnPlan, type PlanArea } from './map-on-plan.ts';
