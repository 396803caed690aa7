export { covarianceFault, errorEllipse, type ErrorEllipse, type Symmetric3 } from './covariance.ts';
export { ellipsoidNamed, ellipsoids, type Ellipsoid, type EllipsoidName } from './ellipsoid.ts';
export { degrees, radians, toGeocentric, toGeodetic, type Geocentric, type Geodetic } from './geocentric.ts';
export { TopocentricFrame, type Topocentric } from './topocentric.ts';
export * from './frames/index.ts';
