/** Plans of invented sites as GeoJSON (RFC 7946), told along and across their structure. */
import type { StructureFrame } from './structure.ts';

export interface Feature {
  readonly type: 'Feature';
  readonly properties: Readonly<Record<string, string | number>>;
  readonly geometry:
    | { readonly type: 'LineString'; readonly coordinates: [number, number][] }
    | { readonly type: 'Polygon'; readonly coordinates: [number, number][][] };
}

export type Points = readonly (readonly [along: number, across: number])[];
type Draw = (kind: string, name: string | undefined, points: Points) => Feature;

/** Points every few metres along a structure. */
export function curve(from: number, to: number, across: (along: number) => number): Points {
  const n = Math.max(4, Math.round(Math.abs(to - from) / 25));
  return Array.from({ length: n + 1 }, (_, i) => {
    const along = from + ((to - from) * i) / n;
    return [along, across(along)] as const;
  });
}

/** What draws lines and areas of a site. */
export function drawing({ lonLatOf }: StructureFrame): { line: Draw; area: Draw } {
  const properties = (kind: string, name: string | undefined): Feature['properties'] => ({
    kind,
    ...(name === undefined ? {} : { name }),
  });
  return {
    line: (kind, name, points) => ({
      type: 'Feature',
      properties: properties(kind, name),
      geometry: { type: 'LineString', coordinates: points.map(([a, d]) => lonLatOf(a, d)) },
    }),
    area: (kind, name, points) => {
      const ring = [...points, points[0]!].map(([a, d]) => lonLatOf(a, d));
      // RFC 7946: the outer ring runs counter-clockwise.
      const twice = ring.slice(1).reduce((sum, [x, y], i) => sum + ring[i]![0] * y - x * ring[i]![1], 0);
      return {
        type: 'Feature',
        properties: properties(kind, name),
        geometry: { type: 'Polygon', coordinates: [twice < 0 ? ring.reverse() : ring] },
      };
    },
  };
}

export function collection(features: readonly Feature[]): string {
  return `${JSON.stringify({ type: 'FeatureCollection', features }, undefined, 1)}\n`;
}
