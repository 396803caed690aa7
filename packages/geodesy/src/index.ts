export { circularErrorRadius, distanceRootMeanSquare } from './circular-error.ts';
export {
  covarianceFault,
  covarianceFrom,
  errorEllipse,
  errorEllipsoid,
  relativeCovariance,
  turnCovariance,
  type EllipsoidAxis,
  type ErrorEllipse,
  type Symmetric3,
} from './covariance.ts';
export {
  checkSameEllipsoid,
  ellipsoidsAgree,
  geocentricKind,
  geodeticKind,
  localCovarianceNames,
  mapKind,
  topocentricKind,
  type CoordinateKind,
  type Triple,
} from './coordinates.ts';
export {
  ellipsoidFrom,
  ellipsoidNamed,
  ellipsoidNames,
  ellipsoids,
  semiMinorAxis,
  type Ellipsoid,
  type EllipsoidName,
  type Shape,
} from './ellipsoid.ts';
export {
  degrees,
  radians,
  toGeocentric,
  toGeocentricAll,
  toGeodetic,
  toGeodeticAll,
  type Geocentric,
  type Geodetic,
} from './geocentric.ts';
export { alongGeodesic, geodesicBetween, type Geodesic } from './geodesic.ts';
export { StructureAxes, type StructureCoordinates } from './structure-axes.ts';
export { TopocentricFrame, type Topocentric } from './topocentric.ts';
export * from './frames/index.ts';
export * from './map/index.ts';
export * from './orbits/index.ts';
