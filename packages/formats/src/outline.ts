import { getIssues } from '@placemarkio/check-geojson';
import { fail, problem, ProblemError, type Problem } from '@stillmark/problems';
import type { OutlineKind } from '@stillmark/records';
import { decodeText } from './text.ts';

/** One line of a plan in degrees, or the ring of an area. */
export interface OutlineLine {
  readonly kind: OutlineKind;
  readonly name?: string;
  readonly closed: boolean;
  /** True of a ring that is cut out of the area before it. */
  readonly hole?: true;
  /** Longitude and latitude, as GeoJSON has them. */
  readonly points: readonly (readonly [number, number])[];
}

export const outlineKinds: readonly OutlineKind[] = ['structure', 'water', 'contour', 'road', 'zone'];

/** A plan is a drawing, not a survey: one with more points would weigh more than the figures drawn on it. */
const mostPoints = 5000;

/**
 * Reads the outline of a site from GeoJSON (RFC 7946: longitude first, WGS 84): lines and areas, whose properties `kind`
 * (structure, water, contour, road, zone; structure where it is missing) and `name` say what they are. Points are not drawn.
 *
 * @throws OUTLINE_INVALID with every fault and its line and column
 */
export function readOutline(bytes: Uint8Array, file: string): OutlineLine[] {
  const text = decodeText(bytes, file);
  const issues = getIssues(text).filter(({ severity }) => severity === 'error');
  if (issues.length > 0) {
    throw new ProblemError(
      issues.slice(0, 20).map(({ message, from }) => {
        const { line, column, sourceLine } = placeOf(text, from);
        return problem('OUTLINE_INVALID', `not GeoJSON: ${message.replace(/\.$/, '')}`, {
          at: { file, line, column },
          ...(sourceLine.length <= 200 ? { sourceLine } : {}),
          hint: 'a FeatureCollection of lines and polygons (RFC 7946)',
        });
      }),
    );
  }
  const found = featuresOf(JSON.parse(text) as GeoJson);
  const problems: Problem[] = [];
  const lines = found.flatMap(({ geometry, properties }, i): OutlineLine[] => {
    const given = properties?.['kind'] ?? 'structure';
    const kind = typeof given === 'string' ? given : typeof given;
    if (!outlineKinds.includes(kind as OutlineKind)) {
      problems.push(
        problem('OUTLINE_INVALID', `kind of feature ${i + 1} is '${kind}'`, {
          at: { file },
          allowed: outlineKinds,
        }),
      );
    }
    const name = properties?.['name'];
    return linesOf(geometry).map(({ points, ...ring }) => ({
      kind: kind as OutlineKind,
      ...(typeof name === 'string' && seen(name) !== '' ? { name: seen(name) } : {}),
      ...ring,
      points,
    }));
  });
  if (problems.length > 0) throw new ProblemError(problems);
  const points = lines.reduce((n, line) => n + line.points.length, 0);
  if (points > mostPoints) {
    fail('OUTLINE_INVALID', `the outline has ${points} points, at most ${mostPoints} are drawn`, {
      at: { file },
      hint: 'a generalised outline',
    });
  }
  return lines;
}

/** A name without characters that are not seen or that turn the direction of text. */
const seen = (name: string): string => name.replaceAll(/[\p{Cc}\u202a-\u202e\u2066-\u2069]/gu, '');

type Position = readonly [number, number, ...number[]];
type Geometry =
  | { readonly type: 'LineString'; readonly coordinates: readonly Position[] }
  | { readonly type: 'MultiLineString' | 'Polygon'; readonly coordinates: readonly (readonly Position[])[] }
  | { readonly type: 'MultiPolygon'; readonly coordinates: readonly (readonly (readonly Position[])[])[] }
  | { readonly type: 'GeometryCollection'; readonly geometries: readonly Geometry[] }
  | { readonly type: 'Point' | 'MultiPoint' };
interface Feature {
  readonly type: 'Feature';
  readonly geometry: Geometry | null;
  readonly properties: Readonly<Record<string, unknown>> | null;
}
type GeoJson =
  Feature | Geometry | { readonly type: 'FeatureCollection'; readonly features: readonly Feature[] };

function featuresOf(json: GeoJson): Omit<Feature, 'type'>[] {
  if (json.type === 'FeatureCollection') return [...json.features];
  if (json.type === 'Feature') return [json];
  return [{ geometry: json, properties: null }];
}

type Ring = Pick<OutlineLine, 'closed' | 'hole' | 'points'>;

function linesOf(geometry: Geometry | null): Ring[] {
  const line = (coordinates: readonly Position[], closed: boolean): Ring => ({
    closed,
    points: coordinates.map(([longitude, latitude]) => [longitude, latitude]),
  });
  const area = (rings: readonly (readonly Position[])[]): Ring[] =>
    rings.map((ring, i) => ({ ...line(ring, true), ...(i === 0 ? {} : { hole: true }) }));
  switch (geometry?.type) {
    case 'LineString':
      return [line(geometry.coordinates, false)];
    case 'MultiLineString':
      return geometry.coordinates.map((c) => line(c, false));
    case 'Polygon':
      return area(geometry.coordinates);
    case 'MultiPolygon':
      return geometry.coordinates.flatMap(area);
    case 'GeometryCollection':
      return geometry.geometries.flatMap(linesOf);
    default:
      return [];
  }
}

function placeOf(text: string, offset: number): { line: number; column: number; sourceLine: string } {
  const before = text.slice(0, offset);
  const start = before.lastIndexOf('\n') + 1;
  const end = text.indexOf('\n', offset);
  return {
    line: before.split('\n').length,
    column: offset - start + 1,
    sourceLine: text.slice(start, end < 0 ? text.length : end).replace(/\r$/, ''),
  };
}
