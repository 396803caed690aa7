import { InvalidArgumentError } from 'commander';
import { parseAddress } from '@stillmark/pipeline';
import { parseInstant } from '@stillmark/records';

/** An instant given on the command line, in milliseconds of UTC. A day alone is its first instant in UTC. */
export function instantOption(text: string): number {
  const result = parseInstant(/^\d{4}-\d{2}-\d{2}$/.test(text) ? `${text}T00:00:00Z` : text);
  if (!result.ok)
    throw new InvalidArgumentError(`${result.reason}; such as 2026-03-01T06:00:00Z or 2026-03-01.`);
  return result.ms;
}

/** So many numbers with commas between, as coordinates are given. */
export function numbersOption(count: number): (text: string) => number[] {
  return (text) => {
    const parts = text.split(/[,\s]+/).filter((part) => part !== '');
    const values = parts.map((part) =>
      /^[+-]?[\d.]/.test(part) && !/^[+-]?0[xob]/i.test(part) ? Number(part) : Number.NaN,
    );
    if (parts.length !== count || !values.every(Number.isFinite))
      throw new InvalidArgumentError(`'${text}' is not ${count} numbers with commas between.`);
    return values;
  };
}

export function yearOption(text: string): number {
  const year = Number(text);
  if (text.trim() === '' || !(year >= 1900 && year <= 2200))
    throw new InvalidArgumentError(`'${text}' is not a decimal year, such as 2026.4.`);
  return year;
}

export function wholeOption(least: number, most: number): (text: string) => number {
  return (text) => {
    const value = Number(text);
    if (!/^\d+$/.test(text) || value < least || value > most)
      throw new InvalidArgumentError(`'${text}' is not a whole number from ${least} to ${most}.`);
    return value;
  };
}

/** A plate motion model and a plate of it: `ITRF2020:EURA`. */
export function plateOption(text: string): { model: 'ITRF2014' | 'ITRF2020'; name: string } {
  const match = /^(ITRF2014|ITRF2020):([A-Z]{4})$/.exec(text.trim().toUpperCase());
  if (!match)
    throw new InvalidArgumentError(
      `'${text}' is not a model (ITRF2014, ITRF2020) and a plate, such as ITRF2020:EURA.`,
    );
  return { model: match[1] as 'ITRF2014' | 'ITRF2020', name: match[2]! };
}

const metres: Record<string, number> = { mm: 0.001, cm: 0.01, m: 1 };

/** A length with its unit, in metres. */
export function metresOption(text: string): number {
  const match = /^([+-]?\d+(?:\.\d+)?)\s*(mm|cm|m)$/.exec(text.trim());
  if (!match) throw new InvalidArgumentError(`'${text}' is not a length, such as 8 mm or 10.004 m.`);
  return Number(match[1]) * metres[match[2]!]!;
}

/** The same of what is more than nothing. */
export function positiveMetresOption(text: string): number {
  const value = metresOption(text);
  if (!(value > 0)) throw new InvalidArgumentError(`'${text}' is not more than nothing.`);
  return value;
}

/** The address of a store in object storage. */
export function storeOption(text: string): string {
  const parsed = parseAddress(text);
  if (!parsed)
    throw new InvalidArgumentError(
      `'${text}' is not an address such as s3://bucket/dam/store: a bucket, and a path of letters, digits and - _ . ! * ' ( ) = + @ without steps upwards.`,
    );
  return parsed.address;
}

/** The address of a site, ending in a slash so that its pages stand below it. */
export function addressOption(text: string): string {
  const url = URL.canParse(text) ? new URL(text) : undefined;
  if (!url || !/^https?:$/.test(url.protocol))
    throw new InvalidArgumentError(`'${text}' is not an address, such as https://example.org/dam/.`);
  return url.href.endsWith('/') ? url.href : `${url.href}/`;
}
