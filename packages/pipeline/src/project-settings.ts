import { radians, toGeocentric, type Ellipsoid, type Geocentric } from '@stillmark/geodesy';
import type { KnownStep, ReadinessTask, Step } from '@stillmark/analysis';
import type { Project, Station, Stream } from '@stillmark/project';
import type { StatementSettings } from '@stillmark/records';

/**
 * Steps of a station in a stream that are no movement: its antenna was touched, the base it is seen from was, or the
 * processing changed.
 */
export function stepsOf(project: Project, station: string, stream: Stream): Step[] {
  return knownStepsOf(project, station, stream).filter(({ kind }) => kind !== 'structural');
}

/** The same and the structural steps of the station, or of the whole structure: all events at which its positions may step. */
export function knownStepsOf({ events }: Project, station: string, stream: Stream): KnownStep[] {
  const touched = (id: string | undefined): boolean =>
    id !== undefined && (id === station || id === stream.base);
  return events
    .filter(({ kind, station: whose, stream: which }) => {
      if (kind === 'instrument' || kind === 'base') return touched(whose);
      if (kind === 'structural') return whose === undefined || whose === station;
      return kind === 'processing' && (which === undefined || which === stream.name);
    })
    .map(({ at, what, kind }) => ({ atMs: at, what, kind }));
}

export function approximatePosition(ellipsoid: Ellipsoid, { position }: Station): Geocentric {
  return toGeocentric(ellipsoid, {
    latitude: radians(position.latitude),
    longitude: radians(position.longitude),
    height: position.height,
  });
}

export function settingsOf({ statements }: Project): StatementSettings {
  return {
    confidence: statements.confidence,
    familySignificance: statements.familySignificance,
    power: statements.power,
    windowMs: statements.window,
    statementMs: statements.present,
    rateMs: statements.rate,
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
