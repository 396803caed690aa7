import { count, formatNumber } from './numbers.ts';

interface Tested {
  readonly sigma: number;
  readonly freedom: number;
  readonly limit: number;
  readonly passed: boolean;
}

/** What a test field shows of a receiver; lengths in metres. */
export interface BenchShown {
  readonly procedure: 'simplified' | 'full';
  readonly differences: readonly {
    readonly series: number;
    readonly set: number;
    readonly distance: number;
    readonly height: number;
    readonly within: boolean;
  }[];
  readonly limits: { readonly distance: number; readonly height: number };
  readonly precision?: { readonly plan: Tested; readonly height: Tested };
  readonly passed: boolean;
}

/** The verdict on a receiver, then what it rests on. */
export function benchLines({ procedure, differences, limits, precision, passed }: BenchShown): string[] {
  const mm = (metres: number): string => `${formatNumber(1000 * metres, 1)}\u202fmm`;
  const outside = differences.filter(({ within }) => !within);
  const deviation = (what: string, { sigma, limit, freedom, passed: ok }: Tested): string =>
    `Standard deviation ${what}: ${mm(sigma)}, ${ok ? 'within' : 'above'} ${mm(limit)} (95\u202f%, ${freedom} degrees of freedom).`;
  return [
    `By the ${procedure} procedure the receiver ${passed ? 'shows what is stated of it' : 'does not show what is stated of it'}.`,
    outside.length === 0
      ? `All ${differences.length} differences lie within ${mm(limits.distance)} in distance and ${mm(limits.height)} in height.`
      : `${count(outside.length, 'difference')} of ${differences.length} ${outside.length === 1 ? 'lies' : 'lie'} outside ${mm(limits.distance)} in distance or ${mm(limits.height)} in height:`,
    ...outside.map(
      ({ series, set, distance, height }) =>
        `  series ${series}, set ${set}: ${mm(distance)} in distance, ${mm(height)} in height`,
    ),
    ...(precision ? [deviation('in plan', precision.plan), deviation('in height', precision.height)] : []),
  ];
}
