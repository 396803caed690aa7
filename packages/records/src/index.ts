export type * from './alarm-load.ts';
export type * from './comparison.ts';
export type * from './epoch.ts';
export type * from './machine.ts';
export type * from './map.ts';
export type * from './over-time.ts';
export type * from './pairs.ts';
export type * from './plan.ts';
export type * from './portfolio.ts';
export type * from './release.ts';
export type * from './published.ts';
export type * from './response.ts';
export type * from './series.ts';
export type * from './snapshot.ts';
export type * from './stability.ts';
export type * from './health.ts';
export * from './tracking.ts';
export type * from './transitions.ts';
export type * from './triggers.ts';
export type * from './words.ts';
export {
  dayMs,
  formatInstant,
  gpsMinusUtcSeconds,
  gpsToUtc,
  parseDuration,
  parseInstant,
  type InstantResult,
  type TimeScale,
} from './time.ts';
