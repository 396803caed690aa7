export type * from './epoch.ts';
export type * from './snapshot.ts';
export {
  formatInstant,
  gpsMinusUtcSeconds,
  gpsToUtc,
  parseDuration,
  parseInstant,
  type InstantResult,
  type TimeScale,
} from './time.ts';
