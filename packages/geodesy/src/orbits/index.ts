export { glonassOrbit, type GlonassState } from './glonass.ts';
export {
  keplerOrbit,
  orbitConstants,
  type KeplerElements,
  type Orbit,
  type OrbitConstants,
} from './kepler.ts';
export { dilutionOf, dilutionOfDirections, lookAngles, type Dilution, type LookAngles } from './sky.ts';
export { SkyPositions, type KnownOrbit } from './sky-positions.ts';
