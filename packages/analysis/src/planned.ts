import type { NoiseComponents } from '@stillmark/estimation';
import type { StatementSettings } from '@stillmark/records';
import { ReferenceContrast } from './contrast.ts';
import { movement, type Movement } from './movement.ts';
import type { StationNoise } from './noise.ts';
import { judgeTogether } from './statements.ts';
import type { WindowSeries } from './windows.ts';

export interface PlannedTask {
  /** Noise that is expected of means of `settings.windowMs`, as of {@link assumedNoise}. */
  readonly noise: Readonly<Record<'east' | 'north' | 'up', NoiseComponents>>;
  readonly settings: StatementSettings;
  /** Length of the reference period, and the time from its end to the present. */
  readonly referenceMs: number;
  readonly afterMs: number;
  /** Monitoring stations that are tested together. */
  readonly stations: number;
}

/** What figures will be like, millimetres. */
export interface PlannedFigures {
  readonly horizontalPlusMinus_mm: number;
  readonly horizontalDetectable_mm: number;
  readonly upPlusMinus_mm: number;
  readonly upDetectable_mm: number;
}

/**
 * Half-widths and smallest movements that will be found, from noise that is expected and a sampling without gaps: by the contrast and the
 * tests that will judge the figures (`statements.ts`).
 */
export function plannedFigures({
  noise,
  settings,
  referenceMs,
  afterMs,
  stations,
}: PlannedTask): PlannedFigures {
  const { windowMs, statementMs } = settings;
  const [reference, present] = [referenceMs, statementMs].map((ms) => Math.max(1, Math.round(ms / windowMs)));
  const gap = Math.max(0, Math.round((afterMs - statementMs) / windowMs));
  const slots = [
    ...Array.from({ length: reference! }, (_, i) => i),
    ...Array.from({ length: present! }, (_, i) => reference! + gap + i),
  ];
  const windows = emptyWindows(slots, windowMs);
  const contrast = new ReferenceContrast(windows, { from: 0, to: reference! });
  const now = { from: reference!, to: reference! + present! };
  const stationNoise: StationNoise = { components: noise, eastNorth: 0, record: undefined as never };
  const figures: Movement = movement(windows, contrast, stationNoise, contrast.tied(contrast.mean(now)));
  const span = { from: '', to: '' };
  const judged = Array.from({ length: Math.max(1, stations) }, () => ({
    displacement: figures,
    window: { ...span, epochs: 0, windows: present! },
    noise: stationNoise,
  }));
  const { horizontal, up } = judgeTogether(judged, settings)[0]!;
  return {
    horizontalPlusMinus_mm: horizontal.plusMinus_mm,
    horizontalDetectable_mm: horizontal.detectable_mm,
    upPlusMinus_mm: up.plusMinus_mm,
    upDetectable_mm: up.detectable_mm,
  };
}

function emptyWindows(slots: readonly number[], windowMs: number): WindowSeries {
  const zeros = (): Float64Array => new Float64Array(slots.length);
  return {
    windowMs,
    slot: Float64Array.from(slots),
    epochs: new Int32Array(slots.length),
    east: zeros(),
    north: zeros(),
    up: zeros(),
    formal: { east: zeros(), north: zeros(), up: zeros() },
  };
}
