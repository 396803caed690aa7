import { fail } from '@stillmark/problems';
import { readFeatures, seenWords, type GeoLine } from './geojson.ts';

/** A line of a layer in degrees, with what it is labelled by. */
export interface LayerLine extends GeoLine {
  readonly label?: string;
}

/** As the outline, a layer is a drawing; contours have more points than outlines. */
const mostPoints = 20_000;

/** A label stands on its line: a longer one would stand for a sentence. */
const longestLabel = 24;

/**
 * Reads a layer of lines from GeoJSON (RFC 7946: longitude first, WGS 84). Areas are drawn as their rings; points are not drawn.
 *
 * @param labels property with a word or number that is written on the lines, such as their elevation
 * @throws BACKGROUND_INVALID with every fault and its line and column, and where the labels are no words, or in no feature
 */
export function readMapLayer(bytes: Uint8Array, file: string, labels?: string): LayerLine[] {
  const features = readFeatures(bytes, file, 'BACKGROUND_INVALID');
  const lines = features.flatMap(({ lines: own, properties }, i): LayerLine[] => {
    const given = labels === undefined ? undefined : properties?.[labels];
    if (given !== undefined && given !== null && typeof given !== 'string' && typeof given !== 'number')
      return fail('BACKGROUND_INVALID', `'${labels}' of feature ${i + 1} is neither text nor a number`, {
        at: { file },
        hint: 'a property such as "elevation": 320',
      });
    const label = seenWords(given === undefined || given === null ? '' : String(given)).trim();
    if (label.length > longestLabel)
      return fail('BACKGROUND_INVALID', `the label of feature ${i + 1} has ${label.length} characters`, {
        at: { file },
        hint: `${longestLabel} characters at most: a label stands on its line`,
      });
    return own.map((line) => ({ ...line, ...(label === '' ? {} : { label }) }));
  });
  if (lines.length === 0)
    fail('BACKGROUND_INVALID', 'the layer has no lines', {
      at: { file },
      hint: 'lines or polygons; points are not drawn',
    });
  if (labels !== undefined && lines.every(({ label }) => label === undefined))
    fail('BACKGROUND_INVALID', `no feature has a property '${labels}' that its lines could be labelled by`, {
      at: { file },
      allowed: [...new Set(features.flatMap(({ properties }) => Object.keys(properties ?? {})))].slice(0, 12),
    });
  const points = lines.reduce((n, line) => n + line.points.length, 0);
  if (points > mostPoints)
    fail('BACKGROUND_INVALID', `the layer has ${points} points, at most ${mostPoints} are drawn`, {
      at: { file },
      hint: 'generalised lines, or those about the site alone',
    });
  return lines;
}
