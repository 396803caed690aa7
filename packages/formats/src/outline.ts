import { fail, problem, ProblemError, type Problem } from '@stillmark/problems';
import type { OutlineKind } from '@stillmark/records';
import { readFeatures, seenWords, type GeoLine } from './geojson.ts';

/** One line of a plan in degrees, or the ring of an area. */
export interface OutlineLine extends GeoLine {
  readonly kind: OutlineKind;
  readonly name?: string;
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
  const problems: Problem[] = [];
  const lines = readFeatures(bytes, file, 'OUTLINE_INVALID').flatMap((feature, i): OutlineLine[] => {
    const { properties } = feature;
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
    return feature.lines.map(({ points, ...ring }) => ({
      kind: kind as OutlineKind,
      ...(typeof name === 'string' && seenWords(name) !== '' ? { name: seenWords(name) } : {}),
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
