import { localDigits, plural, t, type Message } from '@stillmark/words';
const minus = '\u2212';
/** Narrow no-break space: between the thousands of a number, and between a number and its unit. */
export const thin = '\u202f';

/** A number with true minus sign and thin spaces between thousands, or the signs of the language. Negative zero is zero. */
export function formatNumber(value: number, decimals: number): string {
  const fixed = Math.abs(value).toFixed(decimals);
  const [whole, fraction] = fixed.split('.') as [string, string?];
  const grouped = whole.length > 4 ? whole.replace(/\B(?=(\d{3})+$)/g, thin) : whole;
  const digits = fraction === undefined ? grouped : `${grouped}.${fraction}`;
  return localDigits(value < 0 && Number(fixed) !== 0 ? `${minus}${digits}` : digits);
}

/** Decimals that show an uncertainty with two significant digits: 1.9 -> 1, 12 -> 0, 0.23 -> 2. */
export function decimalsFor(uncertainty: number): number {
  if (!(uncertainty > 0) || !Number.isFinite(uncertainty)) return 1;
  // Rounding may carry into a new digit: 9.96 is 10, not 10.0.
  const magnitude = Math.floor(Math.log10(Number(uncertainty.toPrecision(2))));
  return Math.min(6, Math.max(0, 1 - magnitude));
}

/** A value with the decimals of its uncertainty; the uncertainty itself is printed as `formatToMatch(u, u)`. */
export function formatToMatch(value: number, uncertainty: number): string {
  return formatNumber(value, decimalsFor(uncertainty));
}

/** `6.2 mm ± 1.9 mm`: the uncertainty with two significant digits, the value to match. */
export function formatWithUncertainty(value: number, uncertainty: number, unit = 'mm'): string {
  return `${formatToMatch(value, uncertainty)}${thin}${unit} ± ${formatSize(uncertainty, unit)}`;
}

/** `6.2 ± 1.9`: a figure of a table whose unit stands in its head. */
export function plusMinus(value: number, uncertainty: number): string {
  return `${formatToMatch(value, uncertainty)} ± ${formatToMatch(uncertainty, uncertainty)}`;
}

/** A size on its own, with two significant digits: `3.8 mm`. */
export function formatSize(value: number, unit = 'mm'): string {
  return `${formatToMatch(value, value)}${thin}${unit}`;
}

/** A number as short as it can be, with three decimals at most: `8`, `1.5`. */
export function formatShort(value: number): string {
  return formatNumber(value, [0, 1, 2].find((d) => Math.abs(Number(value.toFixed(d)) - value) < 1e-9) ?? 3);
}

/** `3.6 to 6.5 mm`, or one size where all are printed alike. */
export function formatSizeRange(sizes: readonly number[]): string {
  const [least, most] = [Math.min(...sizes), Math.max(...sizes)];
  return formatSize(least) === formatSize(most)
    ? formatSize(least)
    : t`${formatToMatch(least, least)} to ${formatSize(most)}`;
}

export function formatPercent(share: number, decimals = 0): string {
  return t`${formatNumber(100 * share, decimals)}\u202f%`;
}

/** A p-value as it is printed: `0.034`, `0.0004`, or `< 0.0001`. */
export function formatP(p: number): string {
  if (p < 0.0001) return `< ${formatNumber(0.0001, 4)}`;
  return formatNumber(p, p < 0.001 ? 4 : p < 0.1 ? 3 : 2);
}

/** Direction clockwise from north, in whole degrees: `143°`. */
export function formatAzimuth(degrees: number): string {
  return `${Math.round(degrees) % 360}°`;
}

/** `1 station`, `3 stations`: names in the singular and the plural, each a message with its number, `{0} station`. */
export function count(n: number, one: string, many = `${one}s`): string {
  const counted = (name: string): Message => ({ id: `{0} ${name}`, values: [formatNumber(n, 0)] });
  return plural(n, counted(one), counted(many));
}

/** `A`, `A and B`, `A, B and C`. */
export function list(items: readonly string[]): string {
  if (items.length <= 1) return items.join('');
  const last = items.at(-1)!;
  const before = commas(items.slice(0, -1));
  return t`${before} and ${last}`;
}

/** `A, B, C`: names of a row or properties of one thing, as the language strings them together. */
export function commas(items: readonly string[]): string {
  return items.length === 0 ? '' : items.reduce((before, item) => t`${before}, ${item}`);
}

/** `A; B; C`: clauses that could stand by themselves, or what holds commas. */
export function semicolons(items: readonly string[]): string {
  return items.length === 0 ? '' : items.reduce((before, item) => t`${before}; ${item}`);
}

/** Whole sentences after each other; those that are not said are left out. */
export function paragraph(sentences: readonly (string | undefined)[]): string {
  return sentences.filter((sentence) => sentence !== undefined && sentence !== '').join(' ');
}
