/** A station in plan, with its height, metres. */
export interface PlannedStation {
  readonly id: string;
  readonly east: number;
  readonly north: number;
  readonly up: number;
}

/** What the bases make of a place together. */
export interface BaseGeometry {
  /** Largest angle at the middle of the monitored stations between one base and the next, degrees: 360 for a single one. */
  readonly largestGapDeg: number;
  /** True where that middle lies among the bases: a turn of the network would be seen as such. */
  readonly surrounded: boolean;
}

/** How the bases stand around what is monitored. */
export function baseGeometry(
  bases: readonly PlannedStation[],
  monitored: readonly PlannedStation[],
): BaseGeometry | undefined {
  if (bases.length === 0 || monitored.length === 0) return undefined;
  const mean = (key: 'east' | 'north'): number =>
    monitored.reduce((s, m) => s + m[key], 0) / monitored.length;
  const [east, north] = [mean('east'), mean('north')];
  const directions = bases
    .map((b) => (Math.atan2(b.east - east, b.north - north) * 180) / Math.PI)
    .sort((a, b) => a - b);
  const gaps = directions.map((d, i) => (directions[(i + 1) % directions.length]! - d + 360) % 360);
  // One direction alone leaves the whole circle open.
  const largestGapDeg = Math.max(...gaps) || 360;
  return { largestGapDeg, surrounded: largestGapDeg < 180 };
}

/** Stations of which a stream tells nothing any more, and those of which no stream does. */
export interface FailureEffect {
  /** Streams that are lost whole. */
  readonly streams: readonly string[];
  /** Monitoring stations that some stream still tells, but fewer than before. */
  readonly weakened: readonly string[];
  /** Monitoring stations that no stream tells any more. */
  readonly dark: readonly string[];
  /** Bases that are left to test each other; three and more can say which one moves. */
  readonly basesLeft: number;
}

/**
 * What happens if some stations fail together: their own positions are missing, and all that is told from a base among them.
 *
 * @param streams with the stations that each tells (all unless said), and the base that it holds
 */
export function effectOf(
  failed: readonly string[],
  stations: readonly { readonly id: string; readonly role: 'base' | 'monitoring' }[],
  streams: readonly {
    readonly name: string;
    readonly base?: string;
    readonly stations?: readonly string[];
  }[],
): FailureEffect {
  const lost = streams.filter(({ base }) => base !== undefined && failed.includes(base));
  const tellers = (id: string, left: typeof streams): number =>
    left.filter(({ base, stations: own }) => base !== id && (own === undefined || own.includes(id))).length;
  const left = streams.filter((s) => !lost.includes(s));
  const monitoring = stations.filter(({ role }) => role === 'monitoring');
  const dark = monitoring.filter(({ id }) => failed.includes(id) || tellers(id, left) === 0);
  return {
    streams: lost.map(({ name }) => name),
    weakened: monitoring
      .filter((s) => !dark.includes(s) && tellers(s.id, left) < tellers(s.id, streams))
      .map(({ id }) => id),
    dark: dark.map(({ id }) => id),
    basesLeft: stations.filter(({ id, role }) => role === 'base' && !failed.includes(id)).length,
  };
}
