import { dayMs, formatInstant, type TimeFaultRecord } from '@stillmark/records';
import type { Arrivals } from './outages.ts';

const rollOverMs = 1024 * 7 * dayMs;
/** Apart by more than this, epochs of one station are not those of one project. */
const apartMs = 5 * 366 * dayMs;
/** Seconds between the time scales of satellites and of clocks on the wall: GPS and UTC 18 (since 2017), GPS and BeiDou 14, BeiDou and UTC 4. */
const scaleSeconds = [18, 14, 4] as const;
/** So large a part of the epochs of a day must stand at one second of the minute to say which it is. */
const steady = 0.9;

/**
 * Times that look like mistakes of a known kind: dates that are 1024 weeks early (the number of GPS weeks has ten bits), and epochs that
 * stand 18, 14 or 4 seconds beside where the others stand in the minute.
 */
export function timeFaultsOf(views: readonly Arrivals[], asOfMs: number): TimeFaultRecord[] {
  return merged([...views.flatMap((view) => rolledOver(view, asOfMs)), ...offsets(views)]);
}

/** Blocks of epochs years before the others, that would be among them 1024 weeks later. */
function rolledOver({ station, stream, timesMs }: Arrivals, asOfMs: number): TimeFaultRecord[] {
  const n = timesMs.length;
  let first = n - 1;
  while (first > 0 && timesMs[first]! - timesMs[first - 1]! < apartMs) first--;
  if (first === 0) return [];
  const [from, to] = [timesMs[0]!, timesMs[first - 1]!];
  if (from + rollOverMs < timesMs[first]! - 60 * dayMs || to + rollOverMs > asOfMs + dayMs) return [];
  return [record('weeks', station, stream, from, to, first, -rollOverMs / 1000)];
}

/** The second of the minute of each day's epochs, where they have one. */
function secondsOfDays({
  timesMs,
}: Arrivals): { fromMs: number; toMs: number; epochs: number; second: number }[] {
  const days: { fromMs: number; toMs: number; epochs: number; second: number }[] = [];
  for (let i = 0; i < timesMs.length;) {
    const day = Math.floor(timesMs[i]! / dayMs);
    const counts = new Map<number, number>();
    const begin = i;
    for (; i < timesMs.length && Math.floor(timesMs[i]! / dayMs) === day; i++) {
      const second = (timesMs[i]! / 1000) % 60;
      counts.set(second, (counts.get(second) ?? 0) + 1);
    }
    const [second, count] = [...counts].sort(([, x], [, y]) => y - x)[0]!;
    if (count >= steady * (i - begin))
      days.push({ fromMs: timesMs[begin]!, toMs: timesMs[i - 1]!, epochs: i - begin, second });
  }
  return days;
}

/** Days whose epochs stand beside those of most days of their stream by one of the known offsets. */
function offsets(views: readonly Arrivals[]): TimeFaultRecord[] {
  return [...new Set(views.map(({ stream }) => stream))].flatMap((stream) =>
    offsetsIn(views.filter((view) => view.stream === stream)),
  );
}

function offsetsIn(views: readonly Arrivals[]): TimeFaultRecord[] {
  const days = views.flatMap((view) => secondsOfDays(view).map((day) => ({ ...day, view })));
  const usual = new Map<number, number>();
  for (const { second } of days) usual.set(second, (usual.get(second) ?? 0) + 1);
  const [most] = [...usual].sort(([a, x], [b, y]) => y - x || a - b);
  if (!most) return [];
  const faults: TimeFaultRecord[] = [];
  for (const { view, second, fromMs, toMs, epochs } of days) {
    const off = ((second - most[0] + 90) % 60) - 30;
    const known = scaleSeconds.find((s) => Math.abs(Math.abs(off) - s) < 0.001);
    if (known === undefined) continue;
    const open = faults.at(-1);
    if (
      open?.stream === view.stream &&
      open.stations[0] === view.station &&
      open.offsetSeconds === off &&
      fromMs - Date.parse(open.to) < 2 * dayMs
    )
      faults[faults.length - 1] = { ...open, to: formatInstant(toMs), epochs: open.epochs + epochs };
    else faults.push(record('scale', view.station, view.stream, fromMs, toMs, epochs, off));
  }
  return faults;
}

function record(
  kind: TimeFaultRecord['kind'],
  station: string,
  stream: string,
  fromMs: number,
  toMs: number,
  epochs: number,
  offsetSeconds: number,
): TimeFaultRecord {
  return {
    kind,
    stream,
    stations: [station],
    from: formatInstant(fromMs),
    to: formatInstant(toMs),
    epochs,
    offsetSeconds,
  };
}

/** The same mistake of several stations of a stream at one time is one. */
function merged(faults: readonly TimeFaultRecord[]): TimeFaultRecord[] {
  const out: TimeFaultRecord[] = [];
  for (const fault of faults) {
    const same = out.findIndex(
      (o) =>
        o.kind === fault.kind &&
        o.stream === fault.stream &&
        o.offsetSeconds === fault.offsetSeconds &&
        Math.abs(Date.parse(o.from) - Date.parse(fault.from)) < 2 * dayMs,
    );
    if (same < 0) out.push(fault);
    else {
      const o = out[same]!;
      out[same] = {
        ...o,
        stations: [...new Set([...o.stations, ...fault.stations])].sort(),
        from: o.from < fault.from ? o.from : fault.from,
        to: o.to > fault.to ? o.to : fault.to,
        epochs: o.epochs + fault.epochs,
      };
    }
  }
  return out;
}
