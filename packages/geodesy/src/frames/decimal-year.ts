/**
 * Decimal year of an instant, by the calendar: the year, and the share of it that is over. (Years of 365.25 days differ by up to
 * 0.0014, which is below 0.1 mm of any plate's motion.)
 */
export function decimalYear(ms: number): number {
  const year = new Date(ms).getUTCFullYear();
  const [start, end] = [Date.UTC(year, 0, 1), Date.UTC(year + 1, 0, 1)];
  return year + (ms - start) / (end - start);
}
