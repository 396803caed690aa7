import { InvalidArgumentError } from 'commander';
import { parseInstant } from '@stillmark/records';

/** An instant given on the command line, in milliseconds of UTC. A day alone is its first instant in UTC. */
export function instantOption(text: string): number {
  const result = parseInstant(/^\d{4}-\d{2}-\d{2}$/.test(text) ? `${text}T00:00:00Z` : text);
  if (!result.ok)
    throw new InvalidArgumentError(`${result.reason}; such as 2026-03-01T06:00:00Z or 2026-03-01.`);
  return result.ms;
}
