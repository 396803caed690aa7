import type { ReadingSeries, StationSeries } from '@stillmark/records';
import {
  readEpochs,
  readReadings,
  readWindows,
  type OpenSeries,
  type SeriesAxis,
  type TimeSpan,
} from '@stillmark/snapshot/series';
import { KeptPart } from './kept-part.ts';
import { once } from './once.ts';
import { fetched, handedOver } from './open-series.ts';
import { runScript } from './script.ts';
import type { ZoomTask } from './zoom-task.ts';

/** So many epochs are drawn as they are, and not as the least and the greatest of bins. */
const fewEpochs = 12_000;

/** Epochs, or the least and the greatest of bins of a length. */
interface EpochLevel {
  readonly binMs: number;
  readonly part: KeptPart<StationSeries['epochs']>;
}

/** The series of a timeline: fetched part by part from a host, or carried by scripts of a folder. */
export class SeriesSource {
  /** From the epochs themselves to the longest bins. */
  readonly #levels: readonly EpochLevel[];
  readonly #epochsPerMs: number;
  readonly windows: KeptPart<StationSeries['windows']>;
  readonly sensors: readonly KeptPart<ReadingSeries>[];
  /** Length of the bins that a folder carries, milliseconds; 0 where the epochs themselves are there. */
  readonly finest: () => Promise<number>;

  constructor(task: ZoomTask, axes: readonly SeriesAxis[], served: boolean) {
    const { firstMs, lastMs } = task;
    // Windows have their times in their middles, and logs begin before the positions do.
    const whole = { fromMs: firstMs - (lastMs - firstMs), toMs: lastMs + (lastMs - firstMs) };
    this.#epochsPerMs = task.count / Math.max(1, lastMs - firstMs);
    const part = <T>(
      open: () => Promise<OpenSeries>,
      read: (file: OpenSeries, span: TimeSpan) => Promise<T>,
    ): KeptPart<T> => {
      let opened = once(open);
      return new KeptPart(whole, async (span) => {
        try {
          return await read(await opened(), span);
        } catch (error) {
          // A newer file may have taken the place of the one whose foot was read: the next question begins with its foot.
          opened = once(open);
          throw error;
        }
      });
    };
    const epochs = (file: OpenSeries, span: TimeSpan): Promise<StationSeries['epochs']> =>
      readEpochs(file, span, axes);
    const windows = (file: OpenSeries, span: TimeSpan): Promise<StationSeries['windows']> =>
      readWindows(file, span, axes);
    if (served) {
      const levels = [{ binMs: 0, address: task.epochs }, ...task.levels];
      this.#levels = levels.map(({ binMs, address }) => ({
        binMs,
        part: part(() => fetched(address), epochs),
      }));
      this.windows = part(() => fetched(task.windows), windows);
      this.sensors = task.sensors.map(({ address }) => part(() => fetched(address), readReadings));
      this.finest = () => Promise.resolve(0);
    } else {
      const { carried } = task;
      this.#levels = [{ binMs: 0, part: part(() => handedOver(carried, 'epochs'), epochs) }];
      this.windows = part(() => handedOver(carried, 'windows'), windows);
      this.sensors = task.sensors.map((sensor) =>
        part(() => handedOver(sensor.carried, 'readings'), readReadings),
      );
      this.finest = async () => {
        if (carried) await runScript(carried.script);
        return globalThis.stillmarkSeries?.[carried?.name ?? '']?.binMs ?? 0;
      };
    }
  }

  /** The level at which a span is drawn over so many pixels: the longest bins within one, or the epochs where they are few. */
  levelFor({ fromMs, toMs }: TimeSpan, pixels: number): EpochLevel {
    const [epochs, ...levels] = this.#levels;
    if (levels.length === 0 || (toMs - fromMs) * this.#epochsPerMs <= fewEpochs) return epochs!;
    return levels.findLast(({ binMs }) => binMs <= (toMs - fromMs) / pixels) ?? levels[0]!;
  }

  /** What stands nearest to a level of what has been fetched of a span: that level, or another one. */
  nearest(
    span: TimeSpan,
    wanted: EpochLevel,
  ): { level: EpochLevel; data: StationSeries['epochs'] } | undefined {
    let found: { level: EpochLevel; data: StationSeries['epochs'] } | undefined;
    for (const level of [wanted, ...this.#levels.toReversed()]) {
      const kept = level.part.at(span);
      if (kept?.covers) return { level, data: kept.data };
      if (kept) found ??= { level, data: kept.data };
    }
    return found;
  }
}
