import { numberIn, readCsv, readRows, type RejectedRow } from './csv.ts';

/** A station as a list names it: degrees, and metres above the ellipsoid. */
export interface ListedStation {
  readonly id: string;
  readonly role: 'base' | 'monitoring';
  /** What it stands on. */
  readonly on: string;
  readonly latitude: number;
  readonly longitude: number;
  readonly height: number;
}

const columns = {
  id: 'id',
  role: 'role',
  on: 'on',
  latitude: 'latitude',
  longitude: 'longitude',
  height: 'height',
} as const;

const bounds = { latitude: 90, longitude: 180, height: 9000 } as const;

/**
 * Reads a list of stations from CSV (RFC 4180; UTF-8, comma, header line): columns id, role (base or monitoring), on (what it
 * stands on), latitude, longitude and height; others are passed over.
 *
 * @throws INPUT_NOT_TEXT, INPUT_EMPTY, INPUT_COLUMN, INPUT_ROW where the file as a whole cannot be used
 */
export function readStationList(
  bytes: Uint8Array,
  file: string,
): { rows: readonly ListedStation[]; rejected: readonly RejectedRow[] } {
  return readRows(readCsv(bytes, file, columns), file, (field, place, say) => {
    const id = field('id').trim();
    if (!/^[A-Za-z0-9][A-Za-z0-9_-]{0,18}$/.test(id))
      return say(
        'INPUT_STATION',
        `'${id}' is no id of a station`,
        place('id'),
        'letters, digits, - and _, 19 at most, the first a letter or digit',
      );
    const role = field('role').trim().toLowerCase();
    if (role !== 'base' && role !== 'monitoring')
      return say('INPUT_ROW', `'${role}' is no role of a station`, place('role'), 'base or monitoring');
    const on = field('on').trim();
    if (on === '')
      return say('INPUT_ROW', `${id} stands on nothing`, place('on'), 'such as rock, crest, pier 3');
    const values = { latitude: 0, longitude: 0, height: 0 };
    for (const name of ['latitude', 'longitude', 'height'] as const) {
      const value = numberIn(field(name).trim());
      if (value === undefined || Math.abs(value) > bounds[name])
        return say('INPUT_NUMBER', `'${field(name)}' is no ${name}`, place(name), name === 'height' ? 'metres above the ellipsoid' : 'decimal degrees'); // prettier-ignore
      values[name] = value;
    }
    return { id, role, on, ...values };
  });
}
