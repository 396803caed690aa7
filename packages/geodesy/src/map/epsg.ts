import { fail } from '@stillmark/problems';
import table from '../tables/projected-crs.json' with { type: 'json' };
import { MapProjection } from './projection.ts';

/** One registered map: its name and the PROJ string of its projection. */
type Row = readonly [name: string, definition: string];

/**
 * The projection of a projected coordinate reference system by its code in the EPSG Dataset, or by a PROJ string.
 *
 * The table holds the codes whose coordinates by proj4 agree with those of PROJ; `tests/reference/make-projected-crs.ts` makes it.
 *
 * @param text `EPSG:25832`, or a PROJ string
 * @throws GEODESY_PROJECTION for a code that the table does not hold, and for a string that is no projection
 */
export function mapProjection(text: string): MapProjection {
  const code = /^EPSG:(\d+)$/i.exec(text.trim())?.[1];
  if (code === undefined) return new MapProjection(text.trim());
  const row = (table.rows as unknown as Readonly<Record<string, Row>>)[code];
  if (!row)
    return fail('GEODESY_PROJECTION', `EPSG:${code} is not a map projection that is known here`, {
      hint: 'the code of a projected coordinate reference system, or its PROJ string',
    });
  return new MapProjection(row[1], `EPSG:${code} (${row[0]})`);
}
