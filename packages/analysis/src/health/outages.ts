import { formatInstant, type OutageCause, type OutageRecord } from '@stillmark/records';

/** The positions of one station in one stream, as far as outages are concerned. */
export interface Arrivals {
  readonly station: string;
  readonly stream: string;
  /** The station that the stream holds. */
  readonly base?: string;
  readonly timesMs: Float64Array;
  /** Spacing that is usual. */
  readonly spacingMs: number;
}

/** Something that several stations hang on. */
export interface SharedThing {
  readonly name: string;
  readonly stations: readonly string[];
}

interface Gap {
  readonly view: number;
  readonly fromMs: number;
  /** Infinity while it lasts. */
  readonly toMs: number;
}

interface Candidate extends OutageCause {
  readonly users: readonly number[];
  /** Stations that hang on it. */
  readonly stations: number;
}

/** A gap is an outage where it is longer than so many spacings of positions, and than an hour. */
const leastSpacings = 3;
const leastGapMs = 3_600_000;

/** Length beyond which a gap between positions is an outage. */
export function outageLimit(spacingMs: number): number {
  return Math.max(leastGapMs, leastSpacings * spacingMs);
}

/** Most of what hangs on a cause must be out: one receiver of many may have power of its own. */
const mostUsers = 0.9;

/**
 * Outages of all stations and streams, those that begin together told as one by what they have in common: the greatest cause that
 * explains them without having users that are not out.
 *
 * @param lateMs after the newest position an outage begins only when this time has passed too: processing comes in runs
 * @param sinceMs outages that ended before are not told
 * @returns the newest first
 */
export function outagesOf(
  views: readonly Arrivals[],
  shared: readonly SharedThing[],
  asOfMs: number,
  lateMs: number,
  sinceMs: number,
): OutageRecord[] {
  const gaps = views.map((view, i) => gapsOf(view, i, asOfMs, lateMs));
  const running = (view: number, ms: number): boolean =>
    views[view]!.timesMs[0]! < ms && !gaps[view]!.some((g) => g.fromMs < ms && g.toMs >= ms);
  const causes = causesOf(views, shared);
  const out: OutageRecord[] = [];
  for (const cluster of clustersOf(gaps.flat(), views)) {
    const begin = Math.min(...cluster.map((g) => g.fromMs));
    // What was out before does not count, neither as explained nor against a cause.
    // A view that is too slow to show so short a gap says nothing either.
    const longest = Math.max(...cluster.map((g) => Math.min(g.toMs, asOfMs) - g.fromMs));
    const alive = (view: number): boolean =>
      cluster.some((g) => g.view === view) ||
      (outageLimit(views[view]!.spacingMs) < longest &&
        running(view, begin) &&
        views[view]!.timesMs.at(-1)! >= begin);
    let left = cluster;
    while (left.length > 0) {
      const best = bestCause(views, causes, left, cluster, alive);
      const own = left.filter((g) => best.users.includes(g.view));
      left = left.filter((g) => !own.includes(g));
      const to = Math.max(...own.map((g) => g.toMs));
      if (to < sinceMs) continue;
      out.push({
        from: formatInstant(Math.min(...own.map((g) => g.fromMs))),
        ...(to === Number.POSITIVE_INFINITY ? {} : { to: formatInstant(to) }),
        stations: [...new Set(own.map((g) => views[g.view]!.station))].sort(),
        cause: { kind: best.kind, name: best.name },
      });
    }
  }
  return out.sort((a, b) =>
    a.from > b.from ? -1 : a.from < b.from ? 1 : a.cause.name < b.cause.name ? -1 : 1,
  );
}

/** From the last position before to the first one after. */
function gapsOf({ timesMs, spacingMs }: Arrivals, view: number, asOfMs: number, lateMs: number): Gap[] {
  const least = outageLimit(spacingMs);
  const gaps: Gap[] = [];
  for (let i = 1; i < timesMs.length; i++)
    if (timesMs[i]! - timesMs[i - 1]! > least)
      gaps.push({ view, fromMs: timesMs[i - 1]!, toMs: timesMs[i]! });
  const last = timesMs.at(-1)!;
  if (asOfMs - last > Math.max(least, lateMs))
    gaps.push({ view, fromMs: last, toMs: Number.POSITIVE_INFINITY });
  return gaps;
}

/**
 * Gaps that begin together: within an hour of each other, or within the spacing of the slower of them, whose last position may have come so
 * much earlier. The same view is in a cluster once.
 */
function clustersOf(gaps: Gap[], views: readonly Arrivals[]): Gap[][] {
  const slack = ({ view }: Gap): number => Math.max(leastGapMs, views[view]!.spacingMs);
  const clusters: Gap[][] = [];
  for (const gap of [...gaps].sort((a, b) => a.fromMs - b.fromMs || a.view - b.view)) {
    const open = clusters.findLast(
      (cluster) =>
        !cluster.some((g) => g.view === gap.view) &&
        cluster.some((g) => gap.fromMs - g.fromMs <= slack(g)) &&
        gap.fromMs - cluster[0]!.fromMs <= Math.max(...cluster.map(slack)),
    );
    if (open) open.push(gap);
    else clusters.push([gap]);
  }
  return clusters;
}

/** Everything that outages may have in common, in the order in which it is believed where two explain the same. */
function causesOf(views: readonly Arrivals[], shared: readonly SharedThing[]): Candidate[] {
  const usersWhere = (keep: (view: Arrivals) => boolean): number[] =>
    views.flatMap((view, i) => (keep(view) ? [i] : []));
  const names = (key: 'station' | 'stream' | 'base'): string[] => [
    ...new Set(views.flatMap((v) => (v[key] === undefined ? [] : [v[key]]))),
  ];
  const cause = (kind: OutageCause['kind'], name: string, users: readonly number[]): Candidate => ({
    kind,
    name,
    users,
    stations: new Set(users.map((v) => views[v]!.station)).size,
  });
  return [
    ...shared.map(({ name, stations }) =>
      cause(
        'shared',
        name,
        usersWhere(
          (v) => stations.includes(v.station) || (v.base !== undefined && stations.includes(v.base)),
        ),
      ),
    ),
    // A base is missing in its own stream as all others, and in other streams by itself.
    ...names('base').map((name) =>
      cause(
        'base',
        name,
        usersWhere((v) => v.base === name || v.station === name),
      ),
    ),
    ...names('station').map((name) =>
      cause(
        'station',
        name,
        usersWhere((v) => v.station === name),
      ),
    ),
    ...names('stream').map((name) =>
      cause(
        'stream',
        name,
        usersWhere((v) => v.stream === name),
      ),
    ),
    cause(
      'everything',
      'all stations',
      usersWhere(() => true),
    ),
    ...views.map((v, i) => cause('vector', `${v.station} in ${v.stream}`, [i])),
  ];
}

/** The cause that explains most of what is left; of two that explain the same, the smaller, then the one that is believed first. */
function bestCause(
  views: readonly Arrivals[],
  causes: readonly Candidate[],
  left: readonly Gap[],
  cluster: readonly Gap[],
  alive: (view: number) => boolean,
): Candidate {
  const leftViews = new Set(left.map((g) => g.view));
  const outViews = new Set(cluster.map((g) => g.view));
  let best: { cause: Candidate; explained: number; size: number } | undefined;
  for (const cause of causes) {
    const users = cause.users.filter(alive);
    const explained = users.filter((v) => leftViews.has(v)).length;
    if (explained === 0 || users.filter((v) => outViews.has(v)).length < mostUsers * users.length) continue;
    // Of something of which one station alone was running nobody can tell it from that station.
    if (new Set(users.map((v) => views[v]!.station)).size < Math.min(2, cause.stations)) continue;
    const better =
      !best || explained > best.explained || (explained === best.explained && users.length < best.size);
    if (better) best = { cause, explained, size: users.length };
  }
  return best!.cause;
}
