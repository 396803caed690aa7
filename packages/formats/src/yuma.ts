import { keplerOrbit, orbitConstants } from '@stillmark/geodesy';
import { fail, problem } from '@stillmark/problems';
import { dayMs } from '@stillmark/records';
import type { RejectedRow } from './csv.ts';
import { LineSplitter } from './lines.ts';
import type { BroadcastOrbit } from './rinex/navigation.ts';

/** So far from its time an almanac is used: elevations are good to a degree over months, but satellites are moved and retired. */
const validMs = 60 * dayMs;

const weekMs = 7 * dayMs;
const gpsStart = Date.UTC(1980, 0, 6);

/** Lines of a record by the begin of their label, as the files print it. */
const labels = {
  id: 'ID',
  health: 'Health',
  eccentricity: 'Eccentricity',
  toa: 'Time of Applicability',
  inclination: 'Orbital Inclination',
  nodeRate: 'Rate of Right Ascen',
  sqrtA: 'SQRT(A)',
  node: 'Right Ascen at Week',
  perigee: 'Argument of Perigee',
  meanAnomaly: 'Mean Anom',
  week: 'week',
} as const;

type Label = keyof typeof labels;

/**
 * Reads an almanac in the YUMA form: the orbits of GPS (and of QZSS, from 193 on), rough and good for months. The number of the week is
 * counted anew after 1024 weeks, and is taken to be the one nearest to a known time.
 *
 * @param aboutMs a time near that of the almanac, milliseconds since 1970
 * @throws INPUT_NOT_TEXT, INPUT_EMPTY where the file as a whole cannot be used
 */
export function readYuma(
  bytes: Uint8Array,
  file: string,
  aboutMs: number,
): { orbits: BroadcastOrbit[]; rejected: RejectedRow[] } {
  const orbits: BroadcastOrbit[] = [];
  const rejected: RejectedRow[] = [];
  let values: Partial<Record<Label, number>> = {};
  let begin = { line: 0, text: '' };
  const close = (): void => {
    if (Object.keys(values).length === 0) return;
    const found = orbitOf(values, aboutMs);
    if (typeof found === 'string')
      rejected.push({
        problem: problem('INPUT_ROW', found, {
          at: { file, line: begin.line, column: 1 },
          sourceLine: begin.text.slice(0, 80),
          hint: 'the thirteen lines of the record',
        }),
        ...begin,
      });
    else orbits.push(found);
    values = {};
  };
  const splitter = new LineSplitter(file, (text, line) => {
    if (text.startsWith('***') || text.trim() === '') {
      close();
      return;
    }
    const label = (Object.keys(labels) as Label[]).find((key) => text.trimStart().startsWith(labels[key]));
    if (!label) return;
    if (label in values) close();
    if (Object.keys(values).length === 0) begin = { line, text };
    const number = /:\s*([+-]?\d*\.?\d+(?:[eEdD][+-]?\d+)?)\s*$/.exec(text)?.[1];
    values[label] = number === undefined ? Number.NaN : Number(number.replace(/[dD]/, 'e'));
  });
  splitter.take(bytes);
  splitter.end();
  close();
  if (orbits.length + rejected.length === 0)
    fail('INPUT_EMPTY', 'the file holds no record of an almanac', {
      at: { file },
      hint: '******** Week 963 almanac for PRN-01 ********, and thirteen lines',
    });
  return { orbits, rejected };
}

function orbitOf(values: Partial<Record<Label, number>>, aboutMs: number): BroadcastOrbit | string {
  const missing = (Object.keys(labels) as Label[]).find((key) => !Number.isFinite(values[key] ?? Number.NaN));
  if (missing) return `the record has no number for ${labels[missing]}`;
  const v = values as Record<Label, number>;
  const satellite =
    v.id >= 193 && v.id <= 202
      ? `J${String(v.id - 192).padStart(2, '0')}`
      : v.id >= 1 && v.id <= 63
        ? `G${String(v.id).padStart(2, '0')}`
        : undefined;
  if (satellite === undefined || !Number.isInteger(v.id)) return `the number ${v.id} is that of no satellite`;
  if (!(
    v.eccentricity >= 0 &&
    v.eccentricity < 0.5 &&
    v.sqrtA > 4000 &&
    v.sqrtA < 8000 &&
    v.toa >= 0 &&
    v.toa < 604_800
  ))
    return 'the elements are those of no navigation satellite';
  const era = 1024 * weekMs;
  const inEra = gpsStart + (v.week % 1024) * weekMs + 1000 * v.toa;
  const toeMs = inEra + Math.round((aboutMs - inEra) / era) * era;
  return {
    satellite,
    fromMs: toeMs - validMs,
    toMs: toeMs + validMs,
    referenceMs: toeMs,
    healthy: v.health === 0,
    orbit: keplerOrbit({
      constants: orbitConstants.GPS,
      toeMs,
      toe: v.toa,
      sqrtA: v.sqrtA,
      eccentricity: v.eccentricity,
      inclination: v.inclination,
      node: v.node,
      perigee: v.perigee,
      meanAnomaly: v.meanAnomaly,
      nodeRate: v.nodeRate,
    }),
  };
}
