import {
  dilutionOf,
  lookAngles,
  type Dilution,
  type LookAngles,
  type SkyPositions,
  type TopocentricFrame,
} from '@stillmark/geodesy';
import type { Horizon } from './horizon.ts';

export interface SkyPlanTask {
  readonly frame: TopocentricFrame;
  readonly horizon: Horizon;
  readonly sky: SkyPositions;
  /** Calendar reading of GPS time at which the span begins, and the span and its steps, milliseconds. */
  readonly fromGpsMs: number;
  readonly spanMs: number;
  readonly stepMs: number;
  /** What is wanted at every time. */
  readonly limits: { readonly satellites: number; readonly pdop: number };
}

export interface SkyPlan {
  /** Times, milliseconds after the begin; satellites that are seen, and the dilution; of every step. */
  readonly afterMs: Float64Array;
  readonly satellites: Uint16Array;
  readonly pdop: Float64Array;
  readonly hdop: Float64Array;
  readonly vdop: Float64Array;
  /** Share of the steps at which the limits are kept. */
  readonly within: number;
  readonly fewest: number;
  readonly meanSatellites: number;
  /** Median, and the value that is exceeded in one of twenty steps; infinite where that often there is none. */
  readonly medianPdop: number;
  readonly highPdop: number;
  /** Begin of the hour in which the limits are kept least, after the begin of the span; the higher dilution decides between equals. */
  readonly worstHour: { readonly afterMs: number; readonly within: number; readonly pdop: number };
}

const hourMs = 3_600_000;

/**
 * Satellites above the horizon of an antenna and the dilution of precision they give, over a span (IS-GPS-200 for the orbits; Langley
 * 1999 for the dilution). Where fewer than four are seen the dilution is infinite.
 */
export function skyPlan({ frame, horizon, sky, fromGpsMs, spanMs, stepMs, limits }: SkyPlanTask): SkyPlan {
  const n = Math.max(1, Math.floor(spanMs / stepMs));
  const afterMs = Float64Array.from({ length: n }, (_, i) => i * stepMs);
  const satellites = new Uint16Array(n);
  const [pdop, hdop, vdop] = [0, 1, 2].map(() => new Float64Array(n).fill(Number.POSITIVE_INFINITY)) as [
    Float64Array,
    Float64Array,
    Float64Array,
  ];
  let kept = 0;
  for (let i = 0; i < n; i++) {
    const seen = visible(frame, horizon, sky, fromGpsMs + afterMs[i]!);
    satellites[i] = seen.length;
    const dilution: Dilution | undefined = dilutionOf(seen);
    if (dilution) [pdop[i], hdop[i], vdop[i]] = [dilution.pdop, dilution.hdop, dilution.vdop];
    if (seen.length >= limits.satellites && pdop[i]! <= limits.pdop) kept++;
  }
  const sorted = pdop.slice().sort();
  const keeps = (i: number): boolean => satellites[i]! >= limits.satellites && pdop[i]! <= limits.pdop;
  return {
    afterMs,
    satellites,
    pdop,
    hdop,
    vdop,
    within: kept / n,
    fewest: satellites.reduce((a, b) => Math.min(a, b)),
    meanSatellites: satellites.reduce((a, b) => a + b, 0) / n,
    medianPdop: sorted[Math.floor((n - 1) / 2)]!,
    highPdop: sorted[Math.min(n - 1, Math.ceil(0.95 * n) - 1)]!,
    worstHour: worstHour(afterMs, pdop, keeps),
  };
}

function visible(frame: TopocentricFrame, horizon: Horizon, sky: SkyPositions, gpsMs: number): LookAngles[] {
  return sky.satellites.flatMap((satellite) => {
    const position = sky.at(satellite, gpsMs);
    if (!position) return [];
    const angles = lookAngles(frame, position);
    return angles.elevation > 0 && horizon.sees(angles.azimuth, angles.elevation) ? [angles] : [];
  });
}

function worstHour(
  afterMs: Float64Array,
  pdop: Float64Array,
  keeps: (i: number) => boolean,
): SkyPlan['worstHour'] {
  let worst = { afterMs: 0, within: Number.POSITIVE_INFINITY, pdop: 0 };
  for (let from = 0; from < afterMs.length;) {
    const hour = Math.floor(afterMs[from]! / hourMs);
    let [kept, highest, to] = [0, 0, from];
    for (; to < afterMs.length && Math.floor(afterMs[to]! / hourMs) === hour; to++) {
      if (keeps(to)) kept++;
      highest = Math.max(highest, pdop[to]!);
    }
    const within = kept / (to - from);
    if (within < worst.within || (within === worst.within && highest > worst.pdop))
      worst = { afterMs: hour * hourMs, within, pdop: highest };
    from = to;
  }
  return worst;
}

/** Where satellites are seen over a span: a line for each, broken where it is hidden; radians. */
export function skyTracks({
  frame,
  horizon,
  sky,
  fromGpsMs,
  spanMs,
  stepMs,
}: Omit<SkyPlanTask, 'limits'>): { satellite: string; lines: LookAngles[][] }[] {
  return sky.satellites.flatMap((satellite) => {
    const lines: LookAngles[][] = [];
    let open: LookAngles[] | undefined;
    for (let t = 0; t <= spanMs; t += stepMs) {
      const position = sky.at(satellite, fromGpsMs + t);
      const angles = position && lookAngles(frame, position);
      if (angles && angles.elevation > 0 && horizon.sees(angles.azimuth, angles.elevation)) {
        if (open) open.push(angles);
        else lines.push((open = [angles]));
      } else open = undefined;
    }
    const long = lines.filter((line) => line.length > 1);
    return long.length > 0 ? [{ satellite, lines: long }] : [];
  });
}
