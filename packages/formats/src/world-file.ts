import { affineDeterminant, type PlaneAffine } from '@stillmark/geodesy';
import { fail, problem, ProblemError, type Problem } from '@stillmark/problems';
import { numberIn } from './csv.ts';
import { decodeText } from './text.ts';

/** What stands in the lines, in their order. */
const meanings = [
  'the step in x from a column to the next (A)',
  'the step in y from a column to the next (D)',
  'the step in x from a row to the next (B)',
  'the step in y from a row to the next (E)',
  'x of the centre of the upper left pixel (C)',
  'y of the centre of the upper left pixel (F)',
] as const;

/**
 * Reads a world file: six lines A, D, B, E, C, F, so that the centre of the pixel in column c and row r, both counted from 0, lies at
 * x = A c + B r + C and y = D c + E r + F (Esri, 'World files for raster datasets'; GDAL, 'WLD -- ESRI World File').
 *
 * @returns the way from column and row, of centres of pixels, to the map, in the unit of the map
 * @throws INPUT_NOT_TEXT; BACKGROUND_INVALID where there are not six numbers, or they fold the image into a line
 */
export function readWorldFile(bytes: Uint8Array, file: string): PlaneAffine {
  const lines = decodeText(bytes, file)
    .trimEnd()
    .split(/\r\n|\n|\r/);
  if (lines.length !== meanings.length)
    fail('BACKGROUND_INVALID', `the world file has ${lines.join('') === '' ? 'no' : lines.length} lines`, {
      at: { file, line: Math.min(lines.length, meanings.length + 1) },
      hint: `six lines, a number each: ${meanings.join(', ')}`,
    });
  const problems: Problem[] = [];
  const [a, d, b, e, c, f] = lines.map((text, i) => {
    const value = numberIn(text.trim());
    if (value === undefined)
      problems.push(
        problem('BACKGROUND_INVALID', `'${text.trim().slice(0, 40)}' is not a number: ${meanings[i]}`, {
          at: { file, line: i + 1, column: 1 + text.length - text.trimStart().length },
          ...(text.length <= 200 ? { sourceLine: text } : {}),
          hint: 'a number with a decimal point',
        }),
      );
    return value ?? Number.NaN;
  }) as [number, number, number, number, number, number];
  if (problems.length > 0) throw new ProblemError(problems);
  const map: PlaneAffine = { origin: [c, f], x: [a, d], y: [b, e] };
  const determinant = affineDeterminant(map);
  // Steps whose product is lost against their size are steps along one line.
  if (!(Math.abs(determinant) > 1e-9 * (Math.hypot(a, d) * Math.hypot(b, e))))
    fail('BACKGROUND_INVALID', 'columns and rows lead along one line: A E - B D is zero', {
      at: { file, line: 1 },
      hint: `steps along two directions, such as ${a === 0 ? 2 : a}, 0, 0, ${e === 0 ? -2 : e}`,
    });
  return map;
}
