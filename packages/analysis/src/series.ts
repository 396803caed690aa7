import type { AxisColumns, StationSeries } from '@stillmark/records';
import type { ReferenceContrast } from './contrast.ts';
import type { WindowBands } from './movement.ts';
import type { QualityReport } from './quality.ts';
import { axes, type Axis, type TopocentricSeries } from './topocentric-series.ts';
import type { WindowSeries } from './windows.ts';

/** The series behind a station's figures: millimetres, steps that are no movement taken off. */
export function stationSeries({
  local,
  quality,
  windows,
  longitudinal,
  bands,
  contrast,
}: {
  readonly local: TopocentricSeries;
  readonly quality: QualityReport;
  readonly windows: WindowSeries;
  /** Azimuth of the structure's longitudinal axis in radians. */
  readonly longitudinal?: number | undefined;
  readonly bands?: WindowBands;
  readonly contrast?: ReferenceContrast;
}): StationSeries {
  const offsets = (axis: Axis): Float64Array =>
    contrast ? contrast.offsets(axis) : new Float64Array(windows.slot.length);
  const windowColumns = {} as Record<Axis, Float64Array>;
  const epochColumns = {} as Record<Axis, Float64Array>;
  for (const axis of axes) {
    const offset = offsets(axis);
    windowColumns[axis] = windows[axis].map((v, i) => 1000 * (v - offset[i]!));
    const shift = epochOffsets(local.timesMs, contrast, offset);
    epochColumns[axis] = local[axis].map((v, i) => 1000 * (v - shift[i]!));
  }
  const half = bands ?? noBands(windows.slot.length, longitudinal !== undefined);
  return {
    epochs: {
      timesMs: local.timesMs,
      ...columns(epochColumns, longitudinal),
      flag: quality.flag,
    },
    windows: {
      timesMs: windows.slot.map((s) => (s + 0.5) * windows.windowMs),
      ...columns(windowColumns, longitudinal),
      eastHalf_mm: half.east,
      northHalf_mm: half.north,
      upHalf_mm: half.up,
      ...(half.longitudinal && half.transverse
        ? { longitudinalHalf_mm: half.longitudinal, transverseHalf_mm: half.transverse }
        : {}),
    },
  };
}

/** Metres to be taken off each epoch: those of the windows on its side of every step. */
function epochOffsets(
  timesMs: Float64Array,
  contrast: ReferenceContrast | undefined,
  offset: Float64Array,
): Float64Array {
  const out = new Float64Array(timesMs.length);
  if (!contrast || contrast.ties.length === 0) return out;
  // The offset is the same for all windows between two steps.
  const bounds = contrast.ties.map((tie) => ({ atMs: tie.atMs, value: offset[tie.index]! }));
  const first = offset[0]!;
  let k = 0;
  for (let i = 0; i < out.length; i++) {
    while (k < bounds.length && timesMs[i]! >= bounds[k]!.atMs) k++;
    out[i] = k === 0 ? first : bounds[k - 1]!.value;
  }
  return out;
}

function columns(
  { east, north, up }: Record<Axis, Float64Array>,
  longitudinal: number | undefined,
): AxisColumns {
  const plain = { east_mm: east, north_mm: north, up_mm: up };
  if (longitudinal === undefined) return plain;
  const turned = (azimuth: number): Float64Array => {
    const [sin, cos] = [Math.sin(azimuth), Math.cos(azimuth)];
    return east.map((e, i) => sin * e + cos * north[i]!);
  };
  return {
    ...plain,
    longitudinal_mm: turned(longitudinal),
    transverse_mm: turned(longitudinal + Math.PI / 2),
  };
}

function noBands(n: number, structure: boolean): WindowBands {
  const none = (): Float64Array => new Float64Array(n).fill(Number.NaN);
  return {
    east: none(),
    north: none(),
    up: none(),
    ...(structure ? { longitudinal: none(), transverse: none() } : {}),
  };
}

/**
 * The series with other windows beside its own: less the committed response, or told from the bases that stand still. NaN where one is
 * missing.
 */
export function besideSeries(
  series: StationSeries,
  of: 'Less' | 'Onto',
  { slot, windowMs, east, north, up }: WindowSeries,
  longitudinal: number | undefined,
): StationSeries {
  const at = new Map(Array.from(slot, (place, i) => [(place + 0.5) * windowMs, i]));
  const { timesMs } = series.windows;
  const spread = (values: Float64Array): Float64Array =>
    timesMs.map((ms) => {
      const i = at.get(ms);
      return i === undefined ? Number.NaN : 1000 * values[i]!;
    });
  const others = columns({ east: spread(east), north: spread(north), up: spread(up) }, longitudinal);
  const named = Object.entries(others).map(([name, values]) => [
    name.replace('_mm', `${of}_mm`),
    values as unknown,
  ]);
  return {
    ...series,
    windows: { ...series.windows, ...Object.fromEntries(named) } as StationSeries['windows'],
  };
}
