import { seeded, type Source } from '../synthetic/noise.ts';
import { layout, lonLatOf, positionOf } from './layout.ts';
import { satellites, satelliteAt, seenAt, weekStart, type Satellite } from './sky.ts';
import { isOut, truth } from './truth.ts';

const hour = 3_600_000;
/** GPS time less UTC since 2017, milliseconds. */
const ahead = 18_000;
const mask = 10;

const sentence = (body: string): string => {
  let sum = 0;
  for (let i = 0; i < body.length; i++) sum ^= body.charCodeAt(i);
  return `$${body}*${sum.toString(16).toUpperCase().padStart(2, '0')}`;
};
const two = (n: number): string => String(n).padStart(2, '0');

interface Seen {
  readonly satellite: Satellite;
  readonly elevation: number;
  readonly azimuth: number;
}

/** What stands above the horizon. */
function skyAt(timeMs: number): Seen[] {
  return satellites.flatMap((satellite) => {
    const { elevation, azimuth } = seenAt(satelliteAt(satellite, timeMs + ahead));
    return elevation > 0 ? [{ satellite, elevation, azimuth }] : [];
  });
}

/** Carrier to noise density that a receiver of the dam has from a satellite, dB-Hz, before its own noise. */
const strengthAt = (elevation: number): number => 31 + 17 * Math.sin((elevation * Math.PI) / 180) ** 0.7;

/** Logs of all receivers in NMEA 0183, once an hour over the last weeks: text by file. */
export function receiverLogs(days = 40): Map<string, string> {
  const to = Date.parse(truth.to);
  const files = new Map<string, string[]>();
  const random = new Map(Object.keys(layout).map((id, i) => [id, seeded(500 + i)]));
  for (let timeMs = to - days * 24 * hour; timeMs < to; timeMs += hour) {
    const sky = skyAt(timeMs);
    for (const id of Object.keys(layout)) {
      if (isOut(id, timeMs)) continue;
      const file = `receivers/${id}/${new Date(timeMs).toISOString().slice(0, 7)}.nmea`;
      let lines = files.get(file);
      if (!lines) files.set(file, (lines = []));
      lines.push(...sentencesOf(id, timeMs, sky, random.get(id)!));
    }
  }
  return new Map([...files].map(([file, lines]) => [file, `${lines.join('\r\n')}\r\n`]));
}

function sentencesOf(id: string, timeMs: number, sky: readonly Seen[], random: Source): string[] {
  const [, downstream, above] = layout[id]!;
  const [longitude, latitude] = lonLatOf(layout[id]![0], downstream);
  const at = new Date(timeMs);
  const time = `${two(at.getUTCHours())}${two(at.getUTCMinutes())}${two(at.getUTCSeconds())}.00`;
  const date = `${two(at.getUTCDate())}${two(at.getUTCMonth() + 1)}${two(at.getUTCFullYear() % 100)}`;
  const minutes = (degrees: number, digits: number): string => {
    const whole = Math.floor(Math.abs(degrees));
    return `${String(whole).padStart(digits, '0')}${((Math.abs(degrees) - whole) * 60).toFixed(8).padStart(11, '0')}`;
  };
  const place = `${minutes(latitude, 2)},N,${minutes(longitude, 3)},W`;
  const quality = random.uniform() < 0.985 ? 4 : 5;
  const { weak } = truth;
  const lost = id === weak.station && timeMs >= Date.parse(weak.from) ? weak.decibels : 0;
  const views = new Map<string, string[]>();
  let tracked = 0;
  for (const { satellite, elevation, azimuth } of sky) {
    const strength = strengthAt(elevation) - lost + 1.2 * random.normal();
    const heard = elevation > 5 && strength > 28 && random.uniform() < 0.99;
    if (heard) tracked++;
    const { letter } = satellite.constellation;
    const number = Number(satellite.name.slice(1)) + (letter === 'R' ? 64 : 0);
    const own = views.get(letter) ?? [];
    own.push(
      `${two(number)},${two(Math.round(elevation))},${String(Math.round(azimuth) % 360).padStart(3, '0')},${heard ? two(Math.round(strength)) : ''}`,
    );
    views.set(letter, own);
  }
  const pdop = (3.6 / Math.sqrt(Math.max(4, tracked) / 4) + 0.1 * random.uniform()).toFixed(1);
  const height = 312 + above;
  return [
    sentence(`GNRMC,${time},A,${place},0.00,0.00,${date},,,R`),
    sentence(
      `GNGGA,${time},${place},${quality},${two(Math.min(99, tracked))},0.7,${(height - 52).toFixed(4)},M,52.0000,M,1.0,0001`,
    ),
    sentence(`GNGSA,A,3,,,,,,,,,,,,,${pdop},0.7,1.2,1`),
    ...[...views].flatMap(([letter, all]) => viewSentences(letter, all)),
  ];
}

const talkers: Readonly<Record<string, string>> = { G: 'GP', R: 'GL', E: 'GA' };
/** The first signal of each constellation, by the numbers of NMEA 4.11. */
const signals: Readonly<Record<string, string>> = { G: '1', R: '1', E: '7' };

function viewSentences(letter: string, all: readonly string[]): string[] {
  const count = Math.ceil(all.length / 4);
  return Array.from({ length: count }, (_, i) =>
    sentence(
      `${talkers[letter]!}GSV,${count},${i + 1},${two(all.length)},${all.slice(4 * i, 4 * i + 4).join(',')},${signals[letter]!}`,
    ),
  );
}

const c = 299_792_458;
const bands: Readonly<Record<string, readonly [string, string, number, number]>> = {
  G: ['1C', '2W', 1575.42e6, 1227.6e6],
  E: ['1X', '5X', 1575.42e6, 1176.45e6],
};

/** Observations of one receiver over the last day, every 30 s, in RINEX 3.05; GPS and Galileo. */
export function observations(id: string): string {
  const from = Date.parse(truth.to) - 24 * hour;
  const random = seeded(900 + Object.keys(layout).indexOf(id));
  const position = positionOf(layout[id]!);
  const used = satellites.filter(({ constellation }) => constellation.letter in bands);
  const delay = new Map(used.map(({ name }) => [name, 2 + 4 * random.uniform()]));
  const cycles = new Map(
    used.map(({ name }) => [
      name,
      [Math.floor(1e6 * random.uniform()), Math.floor(1e6 * random.uniform())] as [number, number],
    ]),
  );
  const label = (text: string, name: string): string => text.padEnd(60) + name;
  const lines = [
    label('     3.05           OBSERVATION DATA    M', 'RINEX VERSION / TYPE'),
    label('invented            larkmoor', 'PGM / RUN BY / DATE'),
    label(id, 'MARKER NAME'),
    label(position.map((v) => v.toFixed(4).padStart(14)).join(''), 'APPROX POSITION XYZ'),
    label('G    6 C1C L1C S1C C2W L2W S2W', 'SYS / # / OBS TYPES'),
    label('E    6 C1X L1X S1X C5X L5X S5X', 'SYS / # / OBS TYPES'),
    label('    30.000', 'INTERVAL'),
    label('  2026    11    22     0     0   18.0000000     GPS', 'TIME OF FIRST OBS'),
    label('DBHZ', 'SIGNAL STRENGTH UNIT'),
    label('', 'END OF HEADER'),
  ];
  const scatter = id === truth.reflections.station ? truth.reflections.metres : 0.25;
  for (let timeMs = from; timeMs < from + 24 * hour; timeMs += 30_000) {
    const rows: string[] = [];
    for (const satellite of used) {
      const place = satelliteAt(satellite, timeMs + ahead);
      const { elevation } = seenAt(place);
      if (elevation < mask || random.uniform() < 0.002) continue;
      rows.push(recordOf(satellite, place, elevation));
    }
    const at = new Date(timeMs + ahead).toISOString();
    lines.push(
      `> ${at.slice(0, 10).replaceAll('-', ' ')} ${at.slice(11, 16).replace(':', ' ')} ${`${at.slice(17, 19)}.0000000`.padStart(10)}  0${String(rows.length).padStart(3)}`,
      ...rows,
    );
  }
  return `${lines.join('\n')}\n`;

  function recordOf(satellite: Satellite, place: readonly number[], elevation: number): string {
    const { name } = satellite;
    const [, , f1, f2] = bands[name[0]!]!;
    const range = Math.hypot(...place.map((v, k) => v - position[k]!));
    const slant = 1 / Math.sin(((elevation + 5) * Math.PI) / 180);
    const own = cycles.get(name)!;
    if (random.uniform() < 0.0004) own[0] += 1 + Math.floor(20 * random.uniform());
    const rough = scatter * (0.6 + 0.4 * slant);
    const field = (value: number): string => `${value.toFixed(3).padStart(14)}  `;
    return [f1, f2].reduce((text, f, k) => {
      const ionosphere = delay.get(name)! * slant * (f1 / f) ** 2;
      const code = range + ionosphere + rough * random.normal();
      const phase = ((range - ionosphere + 0.002 * random.normal()) * f) / c + own[k]!;
      const strength = strengthAt(elevation) - 4 * k + random.normal();
      return text + field(code) + field(phase) + field(strength);
    }, name);
  }
}

/** Broadcast orbits of GPS and Galileo over the last day in RINEX 3.05. */
export function broadcastOrbits(): string {
  const label = (text: string, name: string): string => text.padEnd(60) + name;
  const field = (value: number): string => value.toExponential(12).padStart(19);
  const row = (...values: number[]): string => `    ${values.map(field).join('')}`;
  const lines = [
    label('     3.05           N: GNSS NAV DATA    M', 'RINEX VERSION / TYPE'),
    label('', 'END OF HEADER'),
  ];
  for (let k = 0; k < 13; k++) {
    const toe = 7200 * k;
    const at = new Date(weekStart + 1000 * toe).toISOString();
    const time = `${at.slice(0, 10).replaceAll('-', ' ')} ${at.slice(11, 19).replaceAll(':', ' ')}`;
    for (const { name, constellation, node, latitude } of satellites) {
      if (!(constellation.letter in bands)) continue;
      const motion = Math.sqrt(3.986004418e14 / constellation.sqrtA ** 6);
      lines.push(
        `${name} ${time}${field(0)}${field(0)}${field(0)}`,
        row(1, 0, 0, (latitude + motion * toe) % (2 * Math.PI)),
        row(0, 0, 0, constellation.sqrtA),
        row(toe, 0, node, 0),
        row(constellation.inclination, 0, 0, 0),
        row(0, 0, 2446, 0),
        row(1, 0, 0, 0),
        row(toe, 0, 0, 0),
      );
    }
  }
  return `${lines.join('\n')}\n`;
}
