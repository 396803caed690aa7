import { radians, toGeocentric, type Ellipsoid, type Geocentric } from '@stillmark/geodesy';
import { repeatSeconds, type KnownStep, type ReadinessTask, type Step } from '@stillmark/analysis';
import type { Project, Station, Stream } from '@stillmark/project';
import type { StatementSettings } from '@stillmark/records';

/**
 * Steps of a station in a stream that are no movement: its antenna was touched, the base it is seen from was, or the
 * processing changed.
 */
export function stepsOf(project: Project, station: string, stream: Stream): Step[] {
  return knownStepsOf(project, station, stream).filter(
    ({ kind }) => kind !== 'structural' && kind !== 'note',
  );
}

/** The same and the structural steps of the station, or of the whole structure: all events at which its positions may step. */
export function knownStepsOf(project: Project, station: string, stream: Stream): KnownStep[] {
  const { events } = project;
  // What was done to a station whose place it took was done before it did.
  const earlier = predecessors(project, station);
  const ownFrom = earlier[0]?.untilMs ?? Number.NEGATIVE_INFINITY;
  const touched = (id: string | undefined, at: number): boolean =>
    id !== undefined &&
    ((id === station && at >= ownFrom) ||
      id === stream.base ||
      earlier.some(
        ({ id: other, untilMs }, k) =>
          other === id && at < untilMs && at >= (earlier[k + 1]?.untilMs ?? Number.NEGATIVE_INFINITY),
      ));
  const own = events
    .filter(({ at, kind, station: whose, stream: which, creep }) => {
      if (kind === 'instrument' || kind === 'base') return touched(whose, at);
      if (kind === 'note' && !creep) return false;
      if (kind === 'structural' || kind === 'note')
        return whose === undefined || (whose !== stream.base && touched(whose, at));
      return kind === 'processing' && (which === undefined || which === stream.name);
    })
    .map(({ at, what, kind, creep }): KnownStep => ({ atMs: at, what, kind, creep }));
  const taken = earlier.map(({ id, by, untilMs }): KnownStep => ({
    atMs: untilMs,
    what: `${by} takes the place of ${id}`,
    kind: 'instrument',
  }));
  return [...own, ...taken];
}

/** The stations whose place a station took, the latest first: by whom, and until when their positions are its own. */
export function predecessors(
  { stations }: Project,
  station: string,
): { id: string; by: string; untilMs: number }[] {
  const out: { id: string; by: string; untilMs: number }[] = [];
  let untilMs = Number.POSITIVE_INFINITY;
  for (let s = stations.find(({ id }) => id === station); s?.succeeds;) {
    const { station: id, at } = s.succeeds;
    untilMs = Math.min(untilMs, at);
    out.push({ id, by: s.id, untilMs });
    s = stations.find((o) => o.id === id);
  }
  return out;
}

export function approximatePosition(ellipsoid: Ellipsoid, { position }: Station): Geocentric {
  return toGeocentric(ellipsoid, {
    latitude: radians(position.latitude),
    longitude: radians(position.longitude),
    height: position.height,
  });
}

/** The stream whose figures are stated first for a station. */
export function primaryStream({ streams }: Project, { stream }: Station): Stream {
  return streams.find((s) => s.name === stream) ?? streams[0]!;
}

/** The reference period of a commitment. */
export function periodOf({ from, to }: { readonly from: string; readonly to: string }): {
  fromMs: number;
  toMs: number;
} {
  return { fromMs: Date.parse(from), toMs: Date.parse(to) };
}

export function settingsOf({ statements }: Project): StatementSettings {
  return {
    confidence: statements.confidence,
    familySignificance: statements.familySignificance,
    power: statements.power,
    windowMs: statements.window,
    statementMs: statements.present,
    rateMs: statements.rate,
    ...(statements.sidereal
      ? {
          sidereal: {
            days: statements.sidereal.days,
            repeatSeconds: repeatSeconds[statements.sidereal.constellation],
          },
        }
      : {}),
  };
}

/** What a reference period of the project must show. */
export function neededEvidence({
  reference,
  requirement,
}: Project): Pick<ReadinessTask, 'constellations' | 'settle'> {
  const { constellations, settle } = reference;
  return {
    constellations,
    settle: settle ?? { horizontal: requirement.horizontal / 4, up: requirement.up / 4 },
  };
}

/**
 * Bases that a stream sees and of which no reference position is committed: what monitoring stations show first means something when the
 * bases are watched. Nothing of a base itself.
 *
 * @param seen stations of which the stream has epochs
 * @param committed stations of which a reference position is committed in the stream
 */
export function openBasesOf(
  { stations }: Project,
  { role }: Station,
  stream: Stream,
  seen: ReadonlySet<string>,
  committed: ReadonlySet<string>,
): { openBases?: string[] } {
  if (role === 'base') return {};
  return {
    openBases: stations.flatMap(({ id, role: other }) =>
      other === 'base' && id !== stream.base && seen.has(id) && !committed.has(id) ? [id] : [],
    ),
  };
}
