import { getIssues } from '@placemarkio/check-geojson';
import { fail, problem, ProblemError, type ProblemCode } from '@stillmark/problems';
import { decodeText } from './text.ts';

/** A line of a geometry, or a ring of an area. */
export interface GeoLine {
  readonly closed: boolean;
  /** True of a ring that is cut out of the area before it. */
  readonly hole?: true;
  /** Longitude and latitude, as GeoJSON has them. */
  readonly points: readonly (readonly [number, number])[];
}

/** What a drawing takes of a feature: its lines, and its properties as they stand. */
export interface GeoFeature {
  readonly lines: readonly GeoLine[];
  readonly properties: Readonly<Record<string, unknown>> | null;
}

/**
 * Features of a GeoJSON file (RFC 7946: longitude first, WGS 84) as lines; points have none.
 *
 * @param code of the problems
 * @throws with every fault of the file and its line and column
 */
export function readFeatures(bytes: Uint8Array, file: string, code: ProblemCode): GeoFeature[] {
  const text = decodeText(bytes, file);
  const issues = getIssues(text).filter(({ severity }) => severity === 'error');
  if (issues.length > 0) {
    throw new ProblemError(
      issues.slice(0, 20).map(({ message, from }) => {
        const { line, column, sourceLine } = placeOf(text, from);
        return problem(code, `not GeoJSON: ${message.replace(/\.$/, '')}`, {
          at: { file, line, column },
          ...(sourceLine.length <= 200 ? { sourceLine } : {}),
          hint: 'a FeatureCollection of lines and polygons (RFC 7946)',
        });
      }),
    );
  }
  return featuresOf(parsed(text, file, code)).map(({ geometry, properties }) => ({
    lines: linesOf(geometry),
    properties,
  }));
}

/** The check above is milder than JSON: it lets characters pass that are not seen. */
function parsed(text: string, file: string, code: ProblemCode): GeoJson {
  try {
    return JSON.parse(text) as GeoJson;
  } catch {
    const unseen = /(?![\t\n\r])\p{Cc}/u.exec(text)?.index;
    return fail(code, 'not GeoJSON: a character stands where JSON allows none', {
      at: { file, ...(unseen === undefined ? {} : locationOf(text, unseen)) },
      hint: 'the file as its program wrote it',
    });
  }
}

/** Words of a file without characters that are not seen or that turn the direction of text. */
export const seenWords = (words: string): string =>
  words.replaceAll(/[\p{Cc}\u202a-\u202e\u2066-\u2069]/gu, '');

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

function linesOf(geometry: Geometry | null): GeoLine[] {
  const line = (coordinates: readonly Position[], closed: boolean): GeoLine => ({
    closed,
    points: coordinates.map(([longitude, latitude]) => [longitude, latitude]),
  });
  const area = (rings: readonly (readonly Position[])[]): GeoLine[] =>
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

function locationOf(text: string, offset: number): { line: number; column: number } {
  const before = text.slice(0, offset);
  return { line: before.split('\n').length, column: offset - before.lastIndexOf('\n') };
}

function placeOf(text: string, offset: number): { line: number; column: number; sourceLine: string } {
  const { line, column } = locationOf(text, offset);
  const end = text.indexOf('\n', offset);
  return {
    line,
    column,
    sourceLine: text.slice(offset - column + 1, end < 0 ? text.length : end).replace(/\r$/, ''),
  };
}
