/**
 * A log of NMEA 0183 of some 100 MB (GGA, GST, GSV, RMC): ours against decoding and splitting its lines in the same run:
 * `node tests/benchmarks/nmea.ts`. Prints; asserts nothing.
 */
import { readNmea } from '@stillmark/formats';
import { ellipsoids, radians, toGeocentric } from '@stillmark/geodesy';

const sentence = (body: string): string => {
  const sum = Array.from(body).reduce((s, c) => s ^ c.charCodeAt(0), 0);
  return `$${body}*${sum.toString(16).toUpperCase().padStart(2, '0')}`;
};
const two = (n: number): string => String(n).padStart(2, '0');
const day = Array.from({ length: 86_400 }, (_, i) => {
  const time = `${two(Math.floor(i / 3600))}${two(Math.floor(i / 60) % 60)}${two(i % 60)}.00`;
  return [
    sentence(`GNRMC,${time},A,4600.12345678,N,00912.12345678,E,0.0,0.0,010326,,,R`),
    sentence(`GNGGA,${time},4600.12345678,N,00912.12345678,E,4,12,0.8,750.1234,M,50.1234,M,1.0,0031`),
    sentence(`GNGST,${time},0.006,,,,0.006,0.005,0.012`),
    sentence('GPGSV,3,1,10,18,84,067,23,09,67,067,27,22,49,312,28,15,47,231,30'),
    sentence('GAGSV,2,1,08,01,40,083,46,02,17,308,41,12,07,344,39,14,22,228,45'),
  ].join('\r\n');
}).join('\r\n');
const bytes = new TextEncoder().encode(`${day}\r\n`.repeat(4));
const timed = <T>(run: () => T): { seconds: number; value: T } => {
  const start = process.hrtime.bigint();
  const value = run();
  return { seconds: Number(process.hrtime.bigint() - start) / 1e9, value };
};
const split = timed(() => new TextDecoder('latin1').decode(bytes).split(/\r?\n/).length);
const at = { latitude: radians(46.0020576), longitude: radians(9.2020576), height: 800.2468 };
const ours = timed(() =>
  readNmea(bytes, 'log', {
    stream: 'main',
    station: 'S1',
    near: toGeocentric(ellipsoids['GRS 1980'], at),
    ellipsoid: ellipsoids['GRS 1980'],
    qualities: [4],
    latestMs: Date.parse('2027-01-01T00:00:00Z'),
    coarsest: 0.01,
  }),
);
const megabytes = bytes.length / 1e6;
console.log(
  `${megabytes.toFixed(0)} MB, ${ours.value.rows.length} positions, ${ours.value.rejected.length} rejected: ours ${ours.seconds.toFixed(2)} s (${(megabytes / ours.seconds).toFixed(0)} MB/s), splitting alone ${split.seconds.toFixed(2)} s (${split.value} lines); ratio ${(ours.seconds / split.seconds).toFixed(1)}`,
);
