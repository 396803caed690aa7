import { gzipSync } from 'node:zlib';
import { larkmoorOutline } from '@stillmark/data/larkmoor-dam/outline.ts';
import { broadcastOrbits, observations, receiverLogs } from '@stillmark/data/larkmoor-dam/receivers.ts';
import {
  NmeaSky,
  readImageHead,
  readMapLayer,
  readNavigation,
  readNmea,
  readOutline,
  readPoints,
  readPositions,
  readReadings,
  readSinex,
  readWorldFile,
  readYuma,
  RinexObservations,
  usualDialect,
  type RejectedRow,
} from '@stillmark/formats';
import { ellipsoids, geocentricKind, radians, toGeocentric } from '@stillmark/geodesy';
import { readProject } from '@stillmark/project';
import { partsOf, nodeFiles } from '@stillmark/pipeline';
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

/** A reader of files of others, and good inputs that are spoilt for it. */
export interface HostileReader {
  readonly name: string;
  readonly inputs: readonly Uint8Array[];
  /** Reads a file; answers what it rejected. May throw problems, and nothing else. */
  readonly read: (
    bytes: Uint8Array,
    file: string,
  ) => readonly RejectedRow[] | Promise<readonly RejectedRow[]>;
}

const grs80 = ellipsoids['GRS 1980'];
const near = toGeocentric(grs80, { latitude: radians(46.4), longitude: radians(9.8), height: 800 });
const text = (...lines: readonly string[]): Uint8Array => new TextEncoder().encode(`${lines.join('\n')}\n`);
const latestMs = Date.parse('2030-01-01T00:00:00Z');
const sentence = (body: string): string =>
  `$${body}*${Array.from(body)
    .reduce((s, c) => s ^ c.charCodeAt(0), 0)
    .toString(16)
    .toUpperCase()
    .padStart(2, '0')}`;
const label = (content: string, name: string): string => content.padEnd(60) + name;
const xyz = `${near.x.toFixed(4)},${near.y.toFixed(4)},${near.z.toFixed(4)}`;

const firstLines = (content: string, n: number): string[] => content.split(/\r?\n/).slice(0, n);
const rinex3 = firstLines(observations('B1'), 80);
const log = firstLines(receiverLogs(1).get('receivers/B1/2026-11.nmea')!, 60);
const project = readFileSync(
  fileURLToPath(new URL('../../data/harrowfold-slope/project.yaml', import.meta.url)),
);

export const readers: readonly HostileReader[] = [
  {
    name: 'positions in CSV',
    inputs: [
      text(
        'time,station,x,y,z,xx,xy,xz,yy,yz,zz',
        ...[0, 1, 2, 3].map((h) => `2026-03-01T0${h}:00:00Z,S1,${xyz},2e-6,0,0,2e-6,0,3e-6`),
      ),
      text(
        '"time","station",x,y,z,xx,xy,xz,yy,yz,zz',
        `"2026-03-01T00:00:00Z","S1",${xyz},2e-6,0,0,2e-6,0,3e-6`,
      ),
    ],
    read: (bytes, file) =>
      readPositions(bytes, file, {
        stream: 'main',
        timeScale: 'UTC',
        kind: geocentricKind,
        columns: {
          station: 'station',
          time: 'time',
          coordinates: ['x', 'y', 'z'],
          uncertainty: ['xx', 'xy', 'xz', 'yy', 'yz', 'zz'],
        },
        uncertainty: 'covariance',
        units: { position: 'm', covariance: 'm2', deviation: 'm' },
        dialect: usualDialect,
        latestMs,
        stations: new Map([['S1', near]]),
      }).rejected,
  },
  {
    name: 'readings in CSV',
    inputs: [
      text('time,value', '2026-03-01T00:00:00Z,12.5', '2026-03-01T01:00:00Z,', '2026-03-01T02:00:00Z,13'),
    ],
    read: (bytes, file) =>
      readReadings(bytes, file, {
        sensor: 'air',
        timeScale: 'UTC',
        columns: { time: 'time', value: 'value' },
        dialect: { ...usualDialect, delimiter: ',' },
        latestMs,
      }).rejected,
  },
  {
    name: 'points in CSV',
    inputs: [text('name,x,y,z', `A,${xyz}`, `B,${xyz}`)],
    read: (bytes, file) => {
      return readPoints(bytes, file, {
        kind: 'geocentric',
        names: ['x', 'y', 'z'],
        covarianceNames: ['xx', 'xy', 'xz', 'yy', 'yz', 'zz'],
        otherCovarianceNames: ['ee'],
      }).rejected;
    },
  },
  {
    name: 'SINEX',
    inputs: [
      text(
        '%=SNX 2.02 ABC 26:060:00000 ABC 26:060:00000 26:061:00000 P 00003 2 S',
        '+SOLUTION/ESTIMATE',
        ...(['x', 'y', 'z'] as const).map(
          (k, i) =>
            `     ${i + 1} STA${k.toUpperCase()}   S1    A    1 26:060:43200 m    2 ${near[k].toExponential(14).toUpperCase().padStart(21)} 0.20000E-02`,
        ),
        '-SOLUTION/ESTIMATE',
        '+SOLUTION/MATRIX_ESTIMATE L COVA',
        '     1     1  0.40000000000000E-05',
        '     2     1  0.10000000000000E-05  0.40000000000000E-05',
        '     3     1  0.10000000000000E-05  0.10000000000000E-05  0.50000000000000E-05',
        '-SOLUTION/MATRIX_ESTIMATE L COVA',
        '%ENDSNX',
      ),
    ],
    read: (bytes, file) =>
      readSinex(bytes, file, {
        stream: 'main',
        timeScale: 'UTC',
        latestMs,
        stations: new Map([['S1', near]]),
      }).rejected,
  },
  {
    name: 'positions in NMEA',
    inputs: [
      text(
        sentence('GNRMC,120000,A,4624.00000000,N,00948.00000000,E,0.0,0.0,010326,,,R'),
        ...[0, 1, 2].flatMap((s) => [
          sentence(
            `GNGGA,12000${s}.00,4624.00000000,N,00948.00000000,E,4,12,0.8,750.000,M,50.000,M,1.0,0031`,
          ),
          sentence(`GNGST,12000${s}.00,0.006,,,,0.006,0.005,0.012`),
        ]),
        sentence('GNZDA,235959.00,01,03,2026,00,00'),
      ),
    ],
    read: (bytes, file) =>
      readNmea(bytes, file, {
        stream: 'main',
        station: 'S1',
        near,
        ellipsoid: grs80,
        qualities: [4],
        latestMs,
        coarsest: 0.01,
      }).rejected,
  },
  {
    name: 'sky in NMEA',
    inputs: [text(...log)],
    read: (bytes, file) => {
      const reader = new NmeaSky(file, latestMs, () => undefined);
      reader.take(bytes);
      reader.end();
      return reader.rejected;
    },
  },
  {
    name: 'observations in RINEX',
    inputs: [
      text(...rinex3),
      text(
        label('     2.11           OBSERVATION DATA    M', 'RINEX VERSION / TYPE'),
        label('     6    C1    P1    L1    S1    L2    P2', '# / TYPES OF OBSERV'),
        label('', 'END OF HEADER'),
        ' 05  3 24 13 10 36.0000000  0  2G12R 9',
        '  23629347.915    23629348.915   123456789.300 8        45.250    98765432.353',
        '  23629364.158',
        '  20891534.648    20891534.648   109876543.120 9        41.000    85432109.358',
        '  20891541.292',
        ' 05  3 24 13 10 50.0000000  4  1',
        label('     6    C1    P1    L1    S1    L2    P2', '# / TYPES OF OBSERV'),
        ' 05  3 24 13 11 36.0000000  6  1G12',
        '  23629347.915    23629348.915   123456789.300 8        45.250    98765432.353',
        '  23629364.158',
      ),
    ],
    read: (bytes, file) => {
      const reader = new RinexObservations(file, { head: () => undefined, epoch: () => undefined });
      for (let i = 0; i < bytes.length; i += 1000) reader.take(bytes.subarray(i, i + 1000));
      reader.end();
      return reader.rejected;
    },
  },
  {
    name: 'orbits in RINEX',
    inputs: [text(...firstLines(broadcastOrbits(), 50))],
    read: (bytes, file) => {
      const { orbits, rejected } = readNavigation(bytes, file);
      for (const { orbit, referenceMs } of orbits) orbit(referenceMs + 1000);
      return rejected;
    },
  },
  {
    name: 'almanac in YUMA',
    inputs: [
      text(
        '******** Week 963 almanac for PRN-01 ********',
        'ID:                         01',
        'Health:                     000',
        'Eccentricity:               0.7319927216E-002',
        'Time of Applicability(s):  589824.0000',
        'Orbital Inclination(rad):   0.9701853241',
        'Rate of Right Ascen(r/s):  -0.7714607059E-008',
        'SQRT(A)  (m 1/2):           5153.631836',
        'Right Ascen at Week(rad):  -0.7462947611E+000',
        'Argument of Perigee(rad):   0.614052959',
        'Mean Anom(rad):            -0.3114386965E+001',
        'Af0(s):                    -0.2765655518E-004',
        'Af1(s/s):                  -0.3637978807E-011',
        'week:                        963',
      ),
    ],
    read: (bytes, file) => {
      const { orbits, rejected } = readYuma(bytes, file, latestMs);
      for (const { orbit, referenceMs } of orbits) orbit(referenceMs + 1000);
      return rejected;
    },
  },
  {
    name: 'outline in GeoJSON',
    inputs: [
      new TextEncoder().encode(larkmoorOutline().slice(0, 4000)),
      new TextEncoder().encode(larkmoorOutline()),
    ],
    read: (bytes, file) => {
      readOutline(bytes, file);
      return [];
    },
  },
  {
    name: 'layer in GeoJSON',
    inputs: [
      new TextEncoder().encode(larkmoorOutline().slice(0, 4000)),
      new TextEncoder().encode(larkmoorOutline()),
    ],
    read: (bytes, file) => {
      readMapLayer(bytes, file, 'name');
      return [];
    },
  },
  {
    name: 'world file',
    inputs: [text('19.924', '2.618', '1.309', '-9.962', '488510', '6126260')],
    read: (bytes, file) => {
      readWorldFile(bytes, file);
      return [];
    },
  },
  {
    name: 'images',
    inputs: [
      readFileSync(fileURLToPath(import.meta.resolve('@stillmark/data/pictures/map.png'))),
      // A JPEG of one pixel with the orientation of Exif, and a WebP of one.
      Buffer.from(
        '/9j/4AAEAAD/4QAiRXhpZgAATU0AKgAAAAgAAQESAAMAAAABAAEAAAAAAAD/wAALCAABAAEBAREA/9k=',
        'base64',
      ),
      Buffer.from('UklGRhoAAABXRUJQVlA4TA0AAAAvAAAAEAcQERGIiP4HAA==', 'base64'),
    ],
    read: (bytes, file) => {
      readImageHead(bytes, file);
      return [];
    },
  },
  {
    name: 'project in YAML',
    inputs: [project],
    read: (bytes, file) => {
      const { problems } = readProject(new TextDecoder().decode(bytes), file);
      return problems.map((problem) => ({ problem, line: problem.at?.line ?? 1, text: '' }));
    },
  },
  {
    name: 'gzip and zip',
    inputs: [
      gzipSync(text(...rinex3)),
      Buffer.from(
        'UEsDBBQAAAAIAAAAIVxh3uI5FAAAABIAAAAFAAAAYi5jc3YrLkksyczP0ynJzE3lCjbUMeICAFBLAQIUAxQAAAAIAAAAIVxh3uI5FAAAABIAAAAFAAAAAAAAAAAAAACAAQAAAABiLmNzdlBLBQYAAAAAAQABADMAAAA3AAAAAAA=',
        'base64',
      ),
    ],
    read: async (bytes, file) => {
      const files = {
        ...nodeFiles,
        async *stream() {
          yield await Promise.resolve(bytes);
        },
      };
      for (const part of await partsOf('/x', file, files, { whole: 1e6, inPieces: 1e6 })) await part.bytes();
      return [];
    },
  },
];
