import type { SignalObservation } from '@stillmark/records';

/** A field of a record: its value, and the mark that the carrier was lost. */
export type Values = { readonly value: number | undefined; readonly lost: boolean }[];

/** Which fields of a record make each signal. */
export interface Layout {
  /** Number of fields, their types, and by what stored values are divided. */
  readonly fields: number;
  readonly types: readonly string[];
  readonly factors: number[];
  readonly signals: readonly {
    readonly signal: string;
    /** Where its code, phase and strength stand; the first of several that is not blank counts. */
    readonly code: readonly number[];
    readonly phase: readonly number[];
    readonly strength: readonly number[];
  }[];
}

/**
 * RINEX 3 and 4: the second and third letter of a type name the signal (`C1C`, `L1C`, `S1C`). In version 3.02 BeiDou's B1I is in band 1,
 * elsewhere in band 2 (RINEX 3.03, table A1): it is always in band 2 here, also where a later version is written as 3.02.
 */
export function signalLayout(types: readonly string[], system: string, version: number): Layout {
  // B1C has the kinds D, P and X; I and Q of band 1 can only be B1I, whatever the version says.
  const kinds = version < 3.03 ? /^1[IQX]$/ : /^1[IQ]$/;
  const name = (type: string): string => {
    const signal = type.slice(1).trim();
    return system === 'C' && kinds.test(signal) ? `2${signal[1]!}` : signal;
  };
  const names = [...new Set(types.filter((t) => 'CLS'.includes(t[0]!)).map(name))];
  const at = (signal: string, letters: string): number[] =>
    types.flatMap((type, i) => (letters.includes(type[0]!) && name(type) === signal ? [i] : []));
  return {
    fields: types.length,
    types,
    factors: types.map(() => 1),
    signals: names.map((signal) => ({
      signal,
      code: at(signal, 'C'),
      phase: at(signal, 'L'),
      strength: at(signal, 'S'),
    })),
  };
}

/** RINEX 2: a type names the band; of codes the precise one (`P`) comes before the other (`C`). */
export function bandLayout(types: readonly string[]): Layout {
  const bands = [...new Set(types.filter((t) => 'CPLS'.includes(t[0]!)).map((t) => t[1]!))].sort();
  const at = (band: string, letter: string): number[] =>
    types.flatMap((type, i) => (type === letter + band ? [i] : []));
  return {
    fields: types.length,
    types,
    factors: types.map(() => 1),
    signals: bands.map((band) => ({
      signal: band,
      code: [...at(band, 'P'), ...at(band, 'C')],
      phase: at(band, 'L'),
      strength: at(band, 'S'),
    })),
  };
}

/** Beyond this a strength is no ratio in dB-Hz. */
const strongest = 70;

/** The signals of a record that have a code or a phase. */
export function signalsFrom(
  layout: Layout,
  values: Values,
  strengthsAreRatios: boolean,
): SignalObservation[] {
  const first = (fields: readonly number[]): Values[number] | undefined => {
    for (const i of fields) if (values[i]?.value !== undefined) return values[i];
    return undefined;
  };
  return layout.signals.flatMap(({ signal, code, phase, strength }): SignalObservation[] => {
    const [c, l, s] = [first(code), first(phase), first(strength)];
    if (c === undefined && l === undefined) return [];
    const usable = strengthsAreRatios && s?.value !== undefined && s.value > 0 && s.value <= strongest;
    return [
      {
        signal,
        lostLock: l?.lost ?? false,
        ...(c?.value === undefined ? {} : { code: c.value }),
        ...(l?.value === undefined ? {} : { phase: l.value }),
        ...(usable ? { cn0: s.value } : {}),
      },
    ];
  });
}
