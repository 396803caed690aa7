export {
  covarianceFault,
  errorEllipse,
  errorEllipsoid,
  relativeCovariance,
  type EllipsoidAxis,
  type ErrorEllipse,
  type Symmetric3,
} from './covariance.ts';
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
export { TopocentricFrame, type Topocentric } from './topocentric.ts';
export * from './frames/index.ts';
