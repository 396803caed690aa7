import { bench, type Effects } from '@stillmark/pipeline';
import { benchLines } from '@stillmark/wording';
import type { Command } from 'commander';
import { metresOption, positiveMetresOption } from './options.ts';

export interface BenchOptions {
  readonly distance: number;
  readonly height: number;
  readonly plan: number;
  readonly up: number;
  readonly json?: boolean;
}

export const benchDetails = `Reads measurements of two rover points of a test field (CSV: series, set, point,
x, y, h in metres on a plane, such as those of \`stillmark transform\`) and tests
them by the statistics of ISO 17123-8: each difference against what is known of
the points otherwise; of three series of five sets, hours apart, the standard
deviations too. One series is the simplified procedure. The standard itself, and
the licensed surveyor, decide about the use of an instrument.`;

export function addBenchOptions(command: Command): Command {
  return command
    .argument('<file>', 'CSV file of measurements')
    .requiredOption(
      '--distance <length>',
      'known distance of the two points, such as 10.004 m',
      positiveMetresOption,
    )
    .requiredOption('--height <length>', 'known height of point 2 above point 1', metresOption)
    .requiredOption(
      '--plan <length>',
      'stated deviation of a position in plan, such as 8 mm',
      positiveMetresOption,
    )
    .requiredOption('--up <length>', 'stated deviation of a height', positiveMetresOption);
}

export async function benchWork(
  file: string,
  { distance, height, plan, up }: BenchOptions,
  effects: Effects,
): Promise<{ lines: string[]; data: object; problems: Awaited<ReturnType<typeof bench>>['problems'] }> {
  const { result, problems } = await bench(
    { file, nominal: { distance, height }, stated: { plan, height: up } },
    effects,
  );
  return { lines: benchLines(result).map((line) => line.replaceAll('\u202f', ' ')), data: result, problems };
}
