import { receiverLogs } from '@stillmark/data/larkmoor-dam/receivers.ts';
import { ProblemError } from '@stillmark/problems';
import type { SkyEpoch } from '@stillmark/records';
import { parseNmeaSentence } from 'nmea-simple';
import { describe, expect, test } from 'vitest';
import { NmeaSky } from '../index.ts';

const sentence = (body: string): string =>
  `$${body}*${Array.from(body)
    .reduce((s, c) => s ^ c.charCodeAt(0), 0)
    .toString(16)
    .toUpperCase()
    .padStart(2, '0')}`;

function read(lines: readonly string[], piece = 50): { epochs: SkyEpoch[]; told: string[] } {
  const epochs: SkyEpoch[] = [];
  const reader = new NmeaSky('a.log', Date.parse('2030-01-01T00:00:00Z'), (epoch) => epochs.push(epoch));
  const bytes = new TextEncoder().encode(`${lines.join('\r\n')}\r\n`);
  const told: string[] = [];
  try {
    for (let i = 0; i < bytes.length; i += piece) reader.take(bytes.subarray(i, i + piece));
    reader.end();
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error;
    told.push(error.message);
  }
  return { epochs, told: [...reader.rejected.map((r) => r.problem.message), ...told] };
}

describe('the sky of a receiver', () => {
  // The four GSV and the GSA stand in public documents with these checksums.
  const log = [
    sentence('GPRMC,120000.00,A,5321.6802,N,00630.3372,W,0.02,31.66,280526,,,A'),
    '$GPGSA,A,3,14,15,05,22,18,26,,,,,,,2.1,1.2,1.7*3D',
    '$GPGSV,3,1,10,18,84,067,23,09,67,067,27,22,49,312,28,15,47,231,30*70',
    '$GPGSV,3,2,10,21,32,199,23,14,25,272,24,05,21,140,32,26,14,070,20*7E',
    '$GPGSV,3,3,10,29,07,074,,30,07,163,28*7D',
    sentence('GPGGA,120000.00,5321.6802,N,00630.3372,W,4,08,1.2,40.1,M,50.2,M,,'),
    sentence('GPGGA,120001.00,5321.6802,N,00630.3372,W,5,08,1.2,40.1,M,50.2,M,,'),
    sentence('GLGSV,1,1,02,65,40,083,46,72,17,308,,1'),
    sentence('GAGSV,1,1,02,02,30,083,41,30,17,308,38,7'),
    sentence('GBGSV,1,1,01,14,30,083,41,5'),
    sentence('GNGSA,A,3,,,,,,,,,,,,,99.99,99.99,99.99'),
  ];

  test('is read by its times, in pieces of any size', () => {
    const { epochs, told } = read(log);
    expect(told).toEqual([]);
    expect(read(log, 7).epochs).toEqual(epochs);
    expect(epochs.map((e) => [new Date(e.timeMs).toISOString(), e.quality, e.pdop])).toEqual([
      ['2026-05-28T12:00:00.000Z', 4, 2.1],
      ['2026-05-28T12:00:01.000Z', 5, undefined],
    ]);
    expect(epochs[0]!.satellites).toHaveLength(10);
    expect(epochs[0]!.satellites[0]).toEqual({ satellite: 'G18', signal: '', elevationDeg: 84, cn0: 23 });
    expect(epochs[0]!.satellites[8]).toEqual({ satellite: 'G29', signal: '', elevationDeg: 7 });
    expect(epochs[1]!.satellites.map((s) => `${s.satellite} ${s.signal} ${s.cn0 ?? '-'}`)).toEqual([
      'R01 1C 46',
      'R08 1C -',
      'E02 1X 41',
      'E30 1X 38',
      'C14 5X 41',
    ]);
  });

  test('without a day, or without sentences, a log is refused', () => {
    expect(read(log.slice(1)).told).toEqual(['no sentence tells the day']);
    expect(read(['time,x', '1,2']).told).toEqual(['the file holds no sentence of NMEA 0183']);
    expect(read(log.with(2, log[2]!.replace('*70', '*71'))).told).toEqual([
      'the checksum is 71, of these characters it is 70',
    ]);
  });
});

// The same sentences by another parser: nmea-simple 3.3.0 (MIT), from the npm registry.
test('satellites, elevations, strengths and dilution are those of nmea-simple, over two days of a log', () => {
  const log = receiverLogs(2).get('receivers/T05/2026-11.nmea')!;
  const lines = log.trimEnd().split('\r\n');
  const { epochs, told } = read(lines, 4096);
  expect(told).toEqual([]);
  const views = new Map<string, number>();
  const pdops: number[] = [];
  const times: string[] = [];
  for (const line of lines) {
    const packet = parseNmeaSentence(line);
    if (packet.sentenceId === 'GSV')
      for (const { prnNumber, elevationDegrees, SNRdB } of packet.satellites) {
        // It takes the number of the signal at the end (since NMEA 4.10) for a satellite without anything.
        if (Number.isNaN(elevationDegrees)) continue;
        const key = `${packet.talkerId ?? ''} ${prnNumber} ${elevationDegrees} ${SNRdB > 0 ? SNRdB : '-'}`;
        views.set(key, (views.get(key) ?? 0) + 1);
      }
    else if (packet.sentenceId === 'GSA') pdops.push(packet.PDOP);
    else if (packet.sentenceId === 'RMC') times.push(packet.datetime.toISOString());
  }
  expect(epochs.map(({ timeMs }) => new Date(timeMs).toISOString())).toEqual(times);
  expect(epochs.map(({ pdop }) => pdop)).toEqual(pdops);
  const talkers: Readonly<Record<string, string>> = { G: 'GP', R: 'GL', E: 'GA' };
  const ours = new Map<string, number>();
  for (const { satellites } of epochs)
    for (const { satellite, elevationDeg, cn0 } of satellites) {
      const number = Number(satellite.slice(1)) + (satellite.startsWith('R') ? 64 : 0);
      const key = `${talkers[satellite[0]!]!} ${number} ${elevationDeg!} ${cn0 ?? '-'}`;
      ours.set(key, (ours.get(key) ?? 0) + 1);
    }
  expect(ours.size).toBeGreaterThan(500);
  expect(ours).toEqual(views);
});
