import { fail } from '@stillmark/problems';

/** A projection in PROJ's words, read and checked: what is left goes to the library. */
export interface ProjectionText {
  /** Without ellipsoid and datum; parameters that may be absent are there with their defaults. */
  readonly projection: string;
  /** The terms that give the ellipsoid. */
  readonly ellipsoid: string;
  /** Short name of the ellipsoid or datum, where it is given by one. */
  readonly named?: string;
}

/** Projections that are compared with PROJ at the registered maps; others of the library are spherical, or off by millimetres. */
const projections = new Set(
  'utm tmerc lcc aea laea stere sterea somerc omerc merc cass krovak poly eqearth cea eqc nzmg'.split(' '),
);
const numeric = new Set(
  'lat_0 lon_0 lat_1 lat_2 lat_ts lonc alpha gamma k k_0 x_0 y_0 a b rf f to_meter zone'.split(' '),
);
const flags = new Set('south no_uoff no_off no_defs wktext over'.split(' '));
const units = new Set('m ft us-ft link'.split(' '));
const meridians = new Set(
  'greenwich lisbon paris bogota madrid rome bern jakarta ferro brussels stockholm athens oslo'.split(' '),
);
/** Said of a datum: no part of a projection, and not applied. */
const datumWords = new Set('towgs84 nadgrids geoidgrids geoid_crs vunits type title'.split(' '));
/** What PROJ takes as zero where it is absent; of Mercator's and Krovak's own figures the library knows better. */
const zeroUnlessSaid = ['lat_0', 'lon_0', 'x_0', 'y_0'];
const needed: Readonly<Record<string, readonly string[]>> = {
  utm: ['zone'],
  lcc: ['lat_1'],
  aea: ['lat_1', 'lat_2'],
  omerc: ['lonc', 'alpha'],
};

/**
 * Reads a PROJ string. Every key must be known, every number a number, the ellipsoid given once.
 *
 * @param name for messages
 * @throws GEODESY_PROJECTION with the term that is wrong
 */
export function readProjString(text: string, name: string): ProjectionText {
  const refuse = (
    why: string,
    hint = 'a PROJ string such as +proj=utm +zone=32 +ellps=GRS80, or EPSG: and a code',
  ): never => fail('GEODESY_PROJECTION', `${name} is no map projection that is known here: ${why}`, { hint });
  const terms = new Map<string, string>();
  for (const word of text.trim().split(/\s+/)) {
    const [, key, value] = /^\+([A-Za-z_0-9]+)(?:=(.*))?$/.exec(word) ?? [];
    if (key === undefined) return refuse(`'${word}' is not +key=value`);
    if (terms.has(key)) return refuse(`+${key} is given twice`);
    terms.set(key, value ?? '');
  }
  const projection = terms.get('proj') ?? '';
  if (!projections.has(projection))
    return refuse(
      projection === '' ? 'it has no +proj=' : `+proj=${projection}`,
      `+proj= one of ${[...projections].join(', ')}`,
    );
  for (const [key, value] of terms) checkTerm(key, value, refuse);
  for (const key of needed[projection] ?? [])
    if (!terms.has(key)) return refuse(`+proj=${projection} needs +${key}=`);
  const kept = [...terms].filter(
    ([key]) => !ellipsoidWords.has(key) && !datumWords.has(key) && key !== 'axis',
  );
  const absent =
    projection === 'utm' || projection === 'krovak' || projection === 'nzmg'
      ? []
      : zeroUnlessSaid.filter((key) => !terms.has(key) && !(key === 'lon_0' && terms.has('lonc')));
  return {
    projection: [
      ...kept.map(([key, value]) => (value === '' ? `+${key}` : `+${key}=${value}`)),
      ...absent.map((key) => `+${key}=0`),
    ].join(' '),
    ...ellipsoidOf(terms, refuse),
  };
}

const ellipsoidWords = new Set(['ellps', 'datum', 'a', 'b', 'rf', 'f', 'R']);

type Refuse = (why: string, hint?: string) => never;

function checkTerm(key: string, value: string, refuse: Refuse): void {
  if (numeric.has(key)) {
    if (!/^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?$/.test(value))
      refuse(`+${key}=${value} is not a number`);
    const number = Number(value);
    if (['k', 'k_0', 'a', 'b', 'rf', 'to_meter'].includes(key) && !(number > 0))
      refuse(`+${key}=${value} is not positive`);
    if (key.startsWith('lat_') && Math.abs(number) > 90) refuse(`+${key}=${value} is beyond 90 degrees`);
    if (key === 'zone' && !(Number.isInteger(number) && number >= 1 && number <= 60))
      refuse(`+zone=${value} is not one of 1 to 60`);
  } else if (flags.has(key)) {
    if (value !== '') refuse(`+${key} takes no value`);
  } else if (key === 'units') {
    if (!units.has(value))
      refuse(`+units=${value}`, `+units= one of ${[...units].join(', ')}; or +to_meter=`);
  } else if (key === 'pm') {
    if (!meridians.has(value) && !/^-?\d+(?:\.\d+)?$/.test(value)) refuse(`the prime meridian +pm=${value}`);
  } else if (key === 'axis') {
    if (value !== 'enu') refuse('it is turned to other axes than east and north');
  } else if (!ellipsoidWords.has(key) && !datumWords.has(key) && key !== 'proj') {
    refuse(`+${key} is not known`);
  }
}

function ellipsoidOf(terms: ReadonlyMap<string, string>, refuse: Refuse): Omit<ProjectionText, 'projection'> {
  const given = [...ellipsoidWords].filter((key) => terms.has(key));
  const shape = given.find((key) => key !== 'a') ?? '';
  const once = 'one of +ellps=, +datum=, or +a= with one of +rf=, +b=, +f=';
  if (given.includes('R')) return refuse('it stands on a sphere, and positions do not', once);
  if (given.length === 0) return refuse('it has no ellipsoid', once);
  const byName = given.length === 1 && (given[0] === 'ellps' || given[0] === 'datum');
  const byAxes = given.length === 2 && terms.has('a') && ['rf', 'b', 'f'].includes(shape);
  if (!byName && !byAxes) return refuse('its ellipsoid is not given once', once);
  const ellipsoid = given.map((key) => `+${key}=${terms.get(key)!}`).join(' ');
  return { ellipsoid, ...(byName ? { named: terms.get(given[0]!)! } : {}) };
}
