/**
 * What the generator plants in the Harrowfold series. Tests compare with it; no computation reads it.
 */
export const truth = {
  from: '2026-09-14T00:00:00Z',
  to: '2026-11-23T00:00:00Z',
  reference: { from: '2026-09-14T00:00:00Z', to: '2026-10-12T00:00:00Z' },
  /** S2 creeps down the slope from this day on: a velocity in mm a day. */
  creep: {
    station: 'S2',
    from: '2026-10-18T00:00:00Z',
    eastPerDay: 0.205,
    northPerDay: -0.155,
    upPerDay: -0.12,
  },
  /** First position of the station that is not ready. */
  late: { station: 'S3', from: '2026-11-13T14:00:00Z' },
  /** Standard deviation of what each station and the held base add to every vector, in mm: white, and flicker an hour. */
  noise: {
    horizontal: { white: 2.2, flicker: 0.25, sidereal: 0.8 },
    up: { white: 4.5, flicker: 0.55, sidereal: 1.6 },
  },
  /** The processing claims this part of the true deviation, as processing does. */
  optimism: 1 / 4,
} as const;

/** Displacement of a station at a time, mm. */
export function displacementAt(station: string, timeMs: number): { east: number; north: number; up: number } {
  const { creep } = truth;
  const days = station === creep.station ? Math.max(0, (timeMs - Date.parse(creep.from)) / 86_400_000) : 0;
  return { east: creep.eastPerDay * days, north: creep.northPerDay * days, up: creep.upPerDay * days };
}
