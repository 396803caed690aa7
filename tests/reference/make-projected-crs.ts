/**
 * Makes the table of projected coordinate reference systems: `node tests/reference/make-projected-crs.ts`, with Debian's proj-bin.
 *
 * Takes the code, name, area and PROJ string of every projected CRS of the EPSG Dataset from `projinfo`, and keeps those whose
 * coordinates by our projection agree with those of PROJ's `cct` to a tenth of a millimetre at nine points of their area of use,
 * there and back. The others are counted by reason on the terminal.
 */
import { execFileSync } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { MapProjection, radians } from '@stillmark/geodesy';

const target = fileURLToPath(
  new URL('../../packages/geodesy/src/tables/projected-crs.json', import.meta.url),
);
const projinfo = (...args: string[]): string =>
  execFileSync('projinfo', args, { encoding: 'utf8', maxBuffer: 1e9, stdio: ['ignore', 'pipe', 'ignore'] });

const listed = projinfo('--list-crs', 'projected')
  .split('\n')
  .filter((line) => line.startsWith('EPSG:') && !line.includes('[deprecated]'))
  .map((line) => /^EPSG:(\d+) "(.*)"$/.exec(line)!)
  .filter(Boolean);

/** Shapes of the ellipsoids by PROJ's short names, so that nothing hangs on what a library calls them. */
const shapes = new Map(
  execFileSync('proj', ['-le'], { encoding: 'utf8' })
    .split('\n')
    .map((line) => /^\s*(\S+)\s+a=(\S+)\s+(rf|b)=(\S+)/.exec(line))
    .filter((m) => m !== null)
    .map(([, name, a, kind, value]) => [name!, `+a=${a} +${kind}=${value}`]),
);
const ellipsoidOfDatum: Record<string, string> = { NAD83: 'GRS80', NAD27: 'clrk66', WGS84: 'WGS84' };

const tolerance = 1e-4;
const rows: Record<string, [string, string]> = {};
const left = new Map<string, number>();
const leave = (why: string): void => void left.set(why, (left.get(why) ?? 0) + 1);

for (const [, code, name] of listed) {
  const text = projinfo('-o', 'PROJ,WKT2:2019', '--single-line', `EPSG:${code}`);
  const full = /(\+proj=\S.*)/.exec(text)?.[1];
  const box = /BBOX\[([^\]]*)\]/.exec(text)?.[1]?.split(',').map(Number);
  if (!full || !box) {
    leave('no PROJ string or area');
    continue;
  }
  const definition = full
    .replaceAll(/ \+(?:type=crs|no_defs|towgs84=\S*|nadgrids=\S*)/g, '')
    .replace(/\+datum=(\S+)/, (_, datum: string) => `+ellps=${ellipsoidOfDatum[datum] ?? datum}`)
    .replace(/\+ellps=(\S+)/, (all, name: string) =>
      name === 'WGS84' || name === 'GRS80' ? all : (shapes.get(name) ?? all),
    )
    .trim();
  const reason = fault(definition, box as [number, number, number, number]);
  if (reason) leave(reason);
  else rows[code!] = [name!, definition];
}

function fault(
  definition: string,
  [south, west, north, eastOrWest]: [number, number, number, number],
): string | undefined {
  const east = eastOrWest < west ? eastOrWest + 360 : eastOrWest;
  let projection: MapProjection;
  try {
    projection = new MapProjection(definition);
  } catch (error) {
    return (error as Error).message.replace(/^.* is /, '');
  }
  // The spherical map of web pages stands on no ellipsoid: positions would need a datum that it has not.
  if (definition.includes('+R=') || projection.ellipsoid.f === 0) return 'a sphere';
  const places = [0.1, 0.5, 0.9].flatMap((u) =>
    [0.1, 0.5, 0.9].map((v) => {
      const longitude = west + u * (east - west);
      return [longitude > 180 ? longitude - 360 : longitude, south + v * (north - south)] as const;
    }),
  );
  const input = places.map(([lon, lat]) => `${lon} ${lat} 0 0\n`).join('');
  const pipeline = `+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad +step ${definition}`;
  const output = execFileSync('cct', ['-d', '9', ...pipeline.split(' ')], {
    input,
    encoding: 'utf8',
    stdio: ['pipe', 'pipe', 'ignore'],
  });
  const theirs = output.trim().split('\n');
  for (const [i, [lon, lat]] of places.entries()) {
    const [easting, northing] = (theirs[i] ?? '').trim().split(/\s+/).map(Number);
    if (!Number.isFinite(easting)) return 'PROJ has no value in the area';
    try {
      const ours = projection.fromGeodetic({ latitude: radians(lat), longitude: radians(lon) });
      const off = projection.metres * Math.hypot(ours.easting - easting!, ours.northing - northing!);
      if (!(off < tolerance)) return 'other coordinates than PROJ';
      const back = projection.toGeodetic(ours);
      if (!(6.4e6 * Math.abs(back.latitude - radians(lat)) < tolerance)) return 'not the same point back';
    } catch {
      return 'no value in the area';
    }
  }
  return undefined;
}

const lines = Object.entries(rows).map(([code, row]) => `"${code}":${JSON.stringify(row)}`);
const head = {
  source:
    'EPSG Dataset v10.076 (IOGP, 2022-08-31), by projinfo of PROJ 9.1.1; those that agree with its cct to 0.1 mm',
};
writeFileSync(target, `{"source":${JSON.stringify(head.source)},"rows":{\n${lines.join(',\n')}\n}}\n`);
console.log(`${lines.length} of ${listed.length} kept`);
for (const [why, n] of [...left].sort((a, b) => b[1] - a[1])) console.log(`${n} ${why}`);
