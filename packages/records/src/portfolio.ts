import type { Instant } from './snapshot.ts';

/** Several projects on one page: of each what its newest snapshot says first. */
export interface PortfolioRecord {
  readonly format: 'stillmark-portfolio';
  readonly version: 1;
  readonly title: string;
  readonly projects: readonly PortfolioEntry[];
}

export interface PortfolioEntry {
  readonly title: string;
  readonly purpose?: string;
  /** Address of its site, relative to the page. */
  readonly href: string;
  readonly timeZone: string;
  readonly asOf: Instant;
  readonly validUntil: Instant;
  readonly headline: string;
  /** Highest level that is reached, with its name; 0 where none is. Absent where nothing is watched. */
  readonly level?: { readonly level: number; readonly name?: string };
  /** On levels, where some are reached. */
  readonly reached: readonly string[];
  readonly stations: number;
  readonly doubts: number;
}
