import { formatProblem, ProblemError } from '@stillmark/problems';
import { describe, expect, test } from 'vitest';
import { readOutline } from './index.ts';

const bytes = (value: unknown): Uint8Array =>
  new TextEncoder().encode(typeof value === 'string' ? value : JSON.stringify(value));
const feature = (geometry: unknown, properties: unknown = null): unknown => ({
  type: 'Feature',
  properties,
  geometry,
});
const refusal = (value: unknown): string => {
  try {
    readOutline(bytes(value), 'outline.geojson');
  } catch (error) {
    if (error instanceof ProblemError) return error.problems.map(formatProblem).join('\n');
    throw error;
  }
  return 'not refused';
};

describe('site outline in GeoJSON', () => {
  test('lines and areas are read with their kind and name; heights and points are left out', () => {
    const outline = readOutline(
      bytes({
        type: 'FeatureCollection',
        features: [
          feature(
            {
              type: 'LineString',
              coordinates: [
                [9, 46, 812],
                [9.1, 46.1, 813],
              ],
            },
            { kind: 'road', name: 'access' },
          ),
          feature(
            {
              type: 'Polygon',
              coordinates: [
                [
                  [0, 0],
                  [1, 0],
                  [1, 1],
                  [0, 0],
                ],
              ],
            },
            { kind: 'water' },
          ),
          feature({
            type: 'MultiLineString',
            coordinates: [
              [
                [0, 0],
                [1, 1],
              ],
              [
                [2, 2],
                [3, 3],
              ],
            ],
          }),
          feature({ type: 'Point', coordinates: [1, 2] }),
          feature(null),
        ],
      }),
      'outline.geojson',
    );
    expect(outline.map(({ kind, name, closed, points }) => [kind, name, closed, points.length])).toEqual([
      ['road', 'access', false, 2],
      ['water', undefined, true, 4],
      ['structure', undefined, false, 2],
      ['structure', undefined, false, 2],
    ]);
    expect(outline[0]!.points[0]).toEqual([9, 46]);
  });

  test('a bare geometry is an outline too', () => {
    expect(
      readOutline(
        bytes({
          type: 'LineString',
          coordinates: [
            [0, 0],
            [1, 1],
          ],
        }),
        'a',
      ).length,
    ).toBe(1);
  });

  test.each<[string, unknown, RegExp]>([
    ['text that is not JSON', '{"type":', /OUTLINE_INVALID[^]*not GeoJSON/],
    [
      'another type',
      feature({ type: 'Circle', coordinates: [1, 2] }),
      /outline\.geojson:1:\d+ error OUTLINE_INVALID/,
    ],
    ['a position of one number', { type: 'LineString', coordinates: [[1, 2], [3]] }, /2 or 3 elements/],
    [
      'a kind that is not drawn',
      feature(
        {
          type: 'LineString',
          coordinates: [
            [0, 0],
            [1, 1],
          ],
        },
        { kind: 'tree' },
      ),
      /kind of feature 1 is 'tree'[^]*structure, water/,
    ],
    [
      'too many points',
      { type: 'LineString', coordinates: Array.from({ length: 5001 }, () => [1, 2]) },
      /5001 points[^]*generalised/,
    ],
    ['bytes that are no text', '\u0000', /INPUT_NOT_TEXT/],
  ])('%s is refused with its place', (_, value, expected) => {
    expect(refusal(value)).toMatch(expected);
  });

  test('the line and column of a fault are those of the file', () => {
    const text = '{\n "type": "LineString",\n "coordinates": [\n  [1, 2],\n  [3]\n ]\n}';
    expect(refusal(text)).toMatch(/^outline\.geojson:5:\d+ error/);
  });
});
