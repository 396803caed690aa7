// What this room uses of csv-parse, for the program that checks purity: the package's own types bring Node's names with them.
export interface CastingContext {
  readonly lines: number;
}
export class CsvError extends Error {
  readonly [key: string]: unknown;
}
export function parse(
  input: string,
  options: Readonly<Record<string, boolean | readonly string[]>>,
): unknown[];
