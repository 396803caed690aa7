import { source } from '@stillmark/data/synthetic/noise.ts';
import { ellipsoids, radians, toGeocentric, TopocentricFrame } from '@stillmark/geodesy';
import { formatProblem, ProblemError } from '@stillmark/problems';
import { expectClose } from '@stillmark/tooling/close';
import { describe, expect, test } from 'vitest';
import { readNmea, type NmeaTask } from '../index.ts';

const grs80 = ellipsoids['GRS 1980'];
const place = (latitude: number, longitude: number, height: number): ReturnType<typeof toGeocentric> =>
  toGeocentric(grs80, { latitude: radians(latitude), longitude: radians(longitude), height });
const near = place(37 + 23.46587704 / 60, -(122 + 2.26957864 / 60), 18.893 - 25.669);
const task: NmeaTask = {
  stream: 'main',
  station: 'S1',
  near,
  ellipsoid: grs80,
  qualities: [4],
  latestMs: Date.parse('2026-12-01T00:00:00Z'),
  coarsest: 0.01,
};
/** Written from the rule of the standard: XOR of what stands between the sign and the asterisk. */
const sentence = (body: string): string =>
  `$${body}*${Array.from(body)
    .reduce((s, c) => s ^ c.charCodeAt(0), 0)
    .toString(16)
    .toUpperCase()
    .padStart(2, '0')}`;
const gga = (time: string, quality = 4, latitude = '3723.46587704', talker = 'GN'): string =>
  sentence(
    `${talker}GGA,${time},${latitude},N,12202.26957864,W,${quality},12,0.8,18.893,M,-25.669,M,1.0,0031`,
  );
const gst = (time: string, deviations = '0.006,0.005,0.012'): string =>
  sentence(`GNGST,${time},0.006,0.006,0.005,12.3,${deviations}`);
const rmc = (time: string, date: string): string =>
  sentence(`GNRMC,${time},A,3723.4658,N,12202.2695,W,0.02,31.66,${date},,,R`);
const log = (...lines: string[]): string => `${lines.join('\r\n')}\r\n`;
const read = (text: string, more: Partial<NmeaTask> = {}): ReturnType<typeof readNmea> =>
  readNmea(new TextEncoder().encode(text), 's1.nmea', { ...task, ...more });
const told = (text: string, more: Partial<NmeaTask> = {}): string => {
  try {
    return read(text, more)
      .rejected.map((r) => formatProblem(r.problem))
      .join('\n');
  } catch (error) {
    if (error instanceof ProblemError) return error.problems.map(formatProblem).join('\n');
    throw error;
  }
};
const times = (text: string): string[] => read(text).rows.map(({ timeMs }) => new Date(timeMs).toISOString());

// Sentences that stand in public documents, from memory and from pages of receivers; the second of the wrong ones lost its digits there.
describe('checksums', () => {
  test.each([
    '$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47',
    '$GPGST,172814.0,0.006,0.023,0.020,273.6,0.023,0.020,0.031*6A',
    '$GPGST,024603.00,3.2,6.6,4.7,47.3,5.8,5.6,22.0*58',
    '$GPGSA,A,3,04,05,,09,12,,,24,,,,,2.5,1.3,2.1*39',
    '$GPGSV,2,1,08,01,40,083,46,02,17,308,41,12,07,344,39,14,22,228,45*75',
    '$GPGSV,3,3,10,29,07,074,,30,07,163,28*7D',
    '$GPGGA,172814.0,3723.46587704,N,12202.26957864,W,2,6,1.2,18.893,M,-25.669,M,2.0,0031*4F',
    '$GPRMC,092750.000,A,5321.6802,N,00630.3372,W,0.02,31.66,280511,,,A*43',
  ])('%s is right', (text) => expect(told(log(text, rmc('235959', '010326')))).not.toContain('checksum'));

  test.each([
    ['$GPGGA,121252.000,3937.3032,N,11611.6046,E,1,05,2.0,45.9,M,-5.7,M,,0000*77', '75'],
    ['$GPGGA,053247,3957.7484,N,11626.7626,E,0,00,,,M,,M,,*46', '5A'],
  ])('%s is wrong as it is printed', (text, right) => {
    const said = told(log(rmc('120000', '010326'), text));
    expect(said).toContain(`of these characters it is ${right}`);
    expect(said).toContain('s1.nmea:2:1');
  });
});

describe('positions', () => {
  test('height above the ellipsoid is altitude plus geoid separation; deviations are latitude, longitude, altitude', () => {
    const { rows, rejected } = read(log(rmc('172814.00', '010326'), gga('172814.00'), gst('172814.00')));
    expect(rejected).toEqual([]);
    expectClose(rows[0], near, { within: 1e-6, unit: 'm' });
    expect(rows[0]!.timeMs).toBe(Date.parse('2026-03-01T17:28:14Z'));
    // Along east, north and up: longitude, latitude, altitude; the last digits are 0.02 mm in plan and 1 mm in height.
    const local = TopocentricFrame.at(grs80, near).rotateCovariance(rows[0]!.covariance);
    expectClose(local, [25e-6, 0, 0, 36e-6, 0, 144e-6 + 1e-6 / 12], { within: 3e-11, unit: 'm2' });
  });

  test('coarse digits add the variance of their rounding, and are refused where they are of no use', () => {
    const text = log(rmc('172814', '010326'), gga('172814', 4, '3723.46588'), gst('172814'));
    // Five decimals of a minute are 18.5 mm.
    expect(told(text)).toMatch(/the last digit of the position is a step of 19 mm/);
    const [row] = read(text, { coarsest: 0.05 }).rows;
    const [, , , nn] = TopocentricFrame.at(grs80, near).rotateCovariance(row!.covariance);
    expect(nn).toBeCloseTo(36e-6 + 0.01852 ** 2 / 12, 9);
  });

  test('talkers of every constellation, GST before or after its GGA', () => {
    const talkers = ['GP', 'GL', 'GA', 'GB', 'GQ', 'GN'];
    const lines = talkers.flatMap((talker, i) => {
      const time = `17281${i}`;
      const pair = [gga(time, 4, undefined, talker), gst(time)];
      return i % 2 === 0 ? pair : pair.toReversed();
    });
    expect(read(log(rmc('172800', '010326'), ...lines)).rows.length).toBe(6);
  });

  test('other qualities and positions without deviations are told once, with their number', () => {
    const lines = ['00', '01', '02'].map((s) => gga(`1728${s}`, 5));
    const said = told(log(rmc('172800', '010326'), ...lines, gga('172803')));
    expect(said).toContain('3 positions of quality 5 (float) are passed over');
    expect(said).toContain('1 position without a GST of the same time is passed over');
    expect(
      read(log(rmc('172800', '010326'), lines[0]!, gst('172800')), { qualities: [4, 5] }).rows.length,
    ).toBe(1);
  });
});

describe('the day', () => {
  test('goes on at midnight, also where no sentence tells it', () => {
    expect(
      times(log(rmc('235958', '280226'), ...['235959', '000000', '000001'].flatMap((t) => [gga(t), gst(t)]))),
    ).toEqual(['2026-02-28T23:59:59.000Z', '2026-03-01T00:00:00.000Z', '2026-03-01T00:00:01.000Z']);
  });
  test('of sentences before the first date is that day, or the evening before', () => {
    expect(
      times(log(gga('235959'), gst('235959'), gga('000000'), gst('000000'), rmc('000001', '010326'))),
    ).toEqual(['2026-02-28T23:59:59.000Z', '2026-03-01T00:00:00.000Z']);
  });
  test('comes from ZDA too, and over several days', () => {
    const zda = sentence('GNZDA,120000.00,01,03,2026,00,00');
    const noon = ['120000.00', '180000.00', '030000.00', '120001.00', '010000.00'];
    expect(times(log(zda, ...noon.flatMap((t) => [gga(t), gst(t)])))).toEqual([
      '2026-03-01T12:00:00.000Z',
      '2026-03-01T18:00:00.000Z',
      '2026-03-02T03:00:00.000Z',
      '2026-03-02T12:00:01.000Z',
      '2026-03-03T01:00:00.000Z',
    ]);
  });
  test('that nothing tells is asked for', () =>
    expect(told(log(gga('172814'), gst('172814')))).toContain('no sentence tells the day'));
});

describe('what is wrong is named with its line', () => {
  const head = rmc('172800', '010326');
  test.each([
    [
      'a sentence that is cut',
      `${log(head, gga('172814'), gst('172814'))}$GNGGA,1728`,
      /INPUT_CUT[^]*ends in the middle of a sentence/,
    ],
    ['no sentences', 'time,x\n1,2\n', /holds no sentence of NMEA/],
    [
      'a place elsewhere',
      log(head, gga('172814', 4, '3724.46587704'), gst('172814')),
      /1850 m from where S1 stands/,
    ],
    [
      'deviations of zero',
      log(head, gga('172814'), gst('172814', '0.0,0.0,0.0')),
      /a standard deviation is zero/,
    ],
    [
      'words for deviations',
      log(head, gga('172814'), gst('172814', 'a,b,c')),
      /the standard deviations are no numbers/,
    ],
    ['a time of no day', log(head, gga('252814'), gst('252814')), /'252814' is not a time of the day/],
    [
      'a date of no calendar',
      log(head, rmc('172800', '310226'), gga('172814'), gst('172814')),
      /the date is not of the calendar/,
    ],
    ['a date to come', log(rmc('172800', '010327'), gga('172814'), gst('172814')), /lies in the future/],
  ])('%s', (_, text, message) => expect(told(text)).toMatch(message));
});

test('whatever is done to a log, it is read or refused with its place, and never brings the reader down', () => {
  const good = log(
    rmc('172800', '010326'),
    ...['00', '10', '20', '30'].flatMap((s) => [gga(`1728${s}`), gst(`1728${s}`)]),
  );
  const { uniform } = source(22);
  const pick = (n: number): number => Math.floor(n * uniform());
  const odd = ['$', '*', ',', '\n', '\r', '\u0000', '!', '9', '-', 'GGA', 'RMC', ''];
  let [ok, refused] = [0, 0];
  for (let round = 0; round < 3000; round++) {
    let text = good;
    for (let k = 0; k <= pick(5); k++) {
      const at = pick(text.length);
      text = text.slice(0, at) + odd[pick(odd.length)]! + text.slice(at + pick(40));
    }
    try {
      const { rows, rejected } = read(text);
      ok++;
      for (const { problem } of rejected) expect(problem.at!.line).toBeGreaterThan(0);
      for (const row of rows) expect(Number.isFinite(row.x + row.covariance[0] + row.timeMs)).toBe(true);
    } catch (error) {
      if (!(error instanceof ProblemError)) throw error;
      expect(error.problems[0]!.at).toMatchObject({ file: 's1.nmea' });
      refused++;
    }
  }
  expect(ok).toBeGreaterThan(1000);
  expect(refused).toBeGreaterThan(50);
});

test('after days without power, positions wait for the date that the next RMC tells', () => {
  const pair = (t: string): string[] => [gga(t), gst(t)];
  expect(
    times(
      log(
        rmc('100000', '010326'),
        ...pair('100005'),
        ...pair('100010'),
        // Two days and an hour later.
        ...pair('110015'),
        ...pair('110020'),
        rmc('110025', '030326'),
        ...pair('110030'),
      ),
    ),
  ).toEqual(
    ['01T10:00:05', '01T10:00:10', '03T11:00:15', '03T11:00:20', '03T11:00:30'].map(
      (t) => `2026-03-${t}.000Z`,
    ),
  );
});

test('a date that the receiver itself is not sure of is not taken', () => {
  const unsure = sentence('GNRMC,000000.00,V,,,,,,,311279,,,N');
  expect(times(log(unsure, rmc('100000', '010326'), gga('100005'), gst('100005')))).toEqual([
    '2026-03-01T10:00:05.000Z',
  ]);
});
