import {
  dilutionOfDirections,
  lookAngles,
  radians,
  type LookAngles,
  type SkyPositions,
  type TopocentricFrame,
} from '@stillmark/geodesy';
import type { Horizon } from './horizon.ts';

export interface SkySpan {
  readonly sky: SkyPositions;
  /** Calendar reading of GPS time at which the span begins, and the span and its steps, milliseconds. */
  readonly fromGpsMs: number;
  readonly spanMs: number;
  readonly stepMs: number;
}

/** Earth-fixed positions of all satellites at every step: computed once for all stations. */
export interface SkyTable {
  readonly steps: number;
  readonly stepMs: number;
  readonly satellites: number;
  /** How many satellites stand before the end of each constellation: they are in the order of their names. */
  readonly ends: readonly number[];
  /** x, y and z in metres, of each satellite of each step; not a number where its orbit is not known. */
  readonly xyz: Float64Array;
  /** Whether the orbits of at least half of the satellites are known at a step; others say nothing of what an antenna sees. */
  readonly known: Uint8Array;
  readonly knownShare: number;
}

export function skyTable({ sky, fromGpsMs, spanMs, stepMs }: SkySpan): SkyTable {
  const satellites = sky.satellites.length;
  const steps = Math.max(1, Math.floor(spanMs / stepMs));
  const xyz = new Float64Array(3 * steps * satellites).fill(Number.NaN);
  sky.satellites.forEach((satellite, k) => {
    for (let i = 0; i < steps; i++) {
      const position = sky.at(satellite, fromGpsMs + i * stepMs);
      if (position) xyz.set([position.x, position.y, position.z], 3 * (i * satellites + k));
    }
  });
  const ends = sky.satellites.flatMap((satellite, k) =>
    sky.satellites[k + 1]?.[0] === satellite[0] ? [] : [k + 1],
  );
  const counts = Array.from({ length: steps }, (_, i) => {
    let count = 0;
    for (let k = 0; k < satellites; k++) if (!Number.isNaN(xyz[3 * (i * satellites + k)]!)) count++;
    return count;
  });
  const half = counts.reduce((a, b) => Math.max(a, b), 1) / 2;
  const known = Uint8Array.from(counts, (count) => (count >= half ? 1 : 0));
  const knownShare = known.reduce((a, b) => a + b, 0) / steps;
  return { steps, stepMs, satellites, ends, xyz, known, knownShare };
}

export interface SkyPlanTask {
  readonly frame: TopocentricFrame;
  readonly horizon: Horizon;
  readonly table: SkyTable;
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
  /** Share of the steps of which orbits are known at which the limits are kept; so are the figures below. */
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
 * 1999 for the dilution, with a clock for each constellation). Where too few are seen the dilution is infinite.
 */
export function skyPlan({ frame, horizon, table, limits }: SkyPlanTask): SkyPlan {
  const { steps: n, stepMs } = table;
  const afterMs = Float64Array.from({ length: n }, (_, i) => i * stepMs);
  const satellites = new Uint16Array(n);
  const [pdop, hdop, vdop] = [0, 1, 2].map(() => new Float64Array(n).fill(Number.POSITIVE_INFINITY)) as [
    Float64Array,
    Float64Array,
    Float64Array,
  ];
  const look = new Look(frame, horizon, table);
  const counted: number[] = [];
  for (let i = 0; i < n; i++) {
    if (!table.known[i]) continue;
    counted.push(i);
    const seen = look.at(i);
    satellites[i] = seen;
    const dilution = dilutionOfDirections(look.directions, look.ends);
    if (dilution) [pdop[i], hdop[i], vdop[i]] = [dilution.pdop, dilution.hdop, dilution.vdop];
  }
  const sorted = Float64Array.from(counted, (i) => pdop[i]!).sort();
  const m = counted.length;
  const keeps = (i: number): boolean => satellites[i]! >= limits.satellites && pdop[i]! <= limits.pdop;
  return {
    afterMs,
    satellites,
    pdop,
    hdop,
    vdop,
    within: counted.filter(keeps).length / m,
    fewest: counted.reduce((a, i) => Math.min(a, satellites[i]!), Number.POSITIVE_INFINITY),
    meanSatellites: counted.reduce((a, i) => a + satellites[i]!, 0) / m,
    medianPdop: sorted[Math.floor((m - 1) / 2)]!,
    highPdop: sorted[Math.min(m - 1, Math.ceil(0.95 * m) - 1)]!,
    worstHour: worstHour(afterMs, counted, pdop, keeps),
  };
}

/** Who is seen from a place. Its axes are taken once: there are millions of looks. */
class Look {
  /** East, north and up of those that were seen, in turn. */
  readonly directions: Float64Array;
  /** How many were seen before the end of each constellation. */
  readonly ends: Int32Array;
  readonly #frame: TopocentricFrame;
  readonly #axes: readonly number[];
  readonly #horizon: Horizon;
  readonly #table: SkyTable;

  constructor(frame: TopocentricFrame, horizon: Horizon, table: SkyTable) {
    this.#frame = frame;
    this.#horizon = horizon;
    this.#table = table;
    this.directions = new Float64Array(3 * table.satellites);
    this.ends = new Int32Array(table.ends.length);
    // Columns of the rotation: what the geocentric axes are in local ones.
    this.#axes = [
      { x: 1, y: 0, z: 0 },
      { x: 0, y: 1, z: 0 },
      { x: 0, y: 0, z: 1 },
    ].flatMap((axis) => {
      const { east, north, up } = frame.rotate(axis);
      return [east, north, up];
    });
  }

  /** How many are seen at a step; their directions stand in {@link directions}. */
  at(step: number): number {
    const { satellites, xyz, ends } = this.#table;
    const { origin } = this.#frame;
    const [ex, nx, ux, ey, ny, uy, ez, nz, uz] = this.#axes as [number, number, number, number, number, number, number, number, number]; // prettier-ignore
    const open = this.#horizon.open;
    // Least sine of an elevation: the mask holds everywhere, and nothing is seen below the horizon of the ellipsoid.
    const least = Math.max(Number.MIN_VALUE, Math.sin(radians(this.#horizon.mask)));
    let [seen, constellation] = [0, 0];
    const first = step * satellites;
    for (let satellite = 0; satellite < satellites; satellite++) {
      if (satellite === ends[constellation]) this.ends[constellation++] = seen;
      const k = 3 * (first + satellite);
      const x = xyz[k]! - origin.x;
      const y = xyz[k + 1]! - origin.y;
      const z = xyz[k + 2]! - origin.z;
      const up = ux * x + uy * y + uz * z;
      if (!(up > 0)) continue;
      const range = Math.sqrt(x * x + y * y + z * z);
      if (up < least * range) continue;
      const east = ex * x + ey * y + ez * z;
      const north = nx * x + ny * y + nz * z;
      if (!open && !this.#horizon.sees(Math.atan2(east, north), Math.asin(up / range))) continue;
      this.directions[3 * seen] = east / range;
      this.directions[3 * seen + 1] = north / range;
      this.directions[3 * seen + 2] = up / range;
      seen++;
    }
    this.ends[constellation] = seen;
    return seen;
  }
}

function worstHour(
  afterMs: Float64Array,
  counted: readonly number[],
  pdop: Float64Array,
  keeps: (i: number) => boolean,
): SkyPlan['worstHour'] {
  let worst = { afterMs: 0, within: Number.POSITIVE_INFINITY, pdop: 0 };
  for (let from = 0; from < counted.length;) {
    const hour = Math.floor(afterMs[counted[from]!]! / hourMs);
    let [kept, highest, to] = [0, 0, from];
    for (; to < counted.length && Math.floor(afterMs[counted[to]!]! / hourMs) === hour; to++) {
      if (keeps(counted[to]!)) kept++;
      highest = Math.max(highest, pdop[counted[to]!]!);
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
}: Pick<SkyPlanTask, 'frame' | 'horizon'> & SkySpan): { satellite: string; lines: LookAngles[][] }[] {
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
