import { cp, mkdir, mkdtemp, readFile, rename, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { larkmoorRelief } from '@stillmark/data/larkmoor-dam/terrain.ts';
import { ellipsoids, mapProjection, radians, toGeodetic, TopocentricFrame } from '@stillmark/geodesy';
import { parse } from 'yaml';
import { afterAll, beforeAll, describe, expect, inject, test } from 'vitest';
import { mustRun, stillmark } from '../support/command.ts';

interface Image {
  readonly path: string;
  readonly bytes: number;
  readonly corner_m: [number, number];
  readonly column_m: [number, number];
  readonly row_m: [number, number];
}
interface Written {
  readonly map: {
    readonly background?: {
      readonly image?: Image;
      readonly layers: { name: string; lines: { label?: string }[] }[];
    };
  };
  readonly inputs: { readonly path: string }[];
}

let folder: string;
let project: string;
let site: string;
/** Easting and northing of the first station of the project in EPSG:25832, whose frame stands for that of the positions here. */
let station: [number, number];
const { png } = larkmoorRelief();
const contours = JSON.stringify({
  type: 'FeatureCollection',
  features: [
    { type: 'Feature', properties: { elevation: 1490 }, geometry: { type: 'LineString', coordinates: [[9.86, 46.42], [9.88, 46.42]] } },
  ],
}); // prettier-ignore
const background = `background:
  image: { file: ground/site.png, name: relief, coordinates: EPSG:25832 }
  layers: [{ file: ground/contours.geojson, name: contours, labels: elevation }]
`;
const world = (...lines: (number | string)[]): string => `${lines.join('\n')}\n`;
const around = (east = 0, north = 0): string =>
  world(2.5, 0, 0, -2.5, station[0] - 800 + east, station[1] + 600 + north);
const read = async (path: string): Promise<Written> =>
  JSON.parse(await readFile(join(path, 'snapshot.json'), 'utf8')) as Written;

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-background-'));
  [project, site] = [join(folder, 'project'), join(folder, 'site')];
  await cp(inject('demoProject'), project, { recursive: true });
  const yaml = await readFile(join(project, 'project.yaml'), 'utf8');
  const { stations } = parse(yaml) as {
    stations: { position: { latitude: number; longitude: number; height: number } }[];
  };
  const { latitude, longitude } = stations[0]!.position;
  const { easting, northing } = mapProjection('EPSG:25832').fromGeodetic({
    latitude: radians(latitude),
    longitude: radians(longitude),
  });
  station = [Math.round(easting), Math.round(northing)];
  await writeFile(join(project, 'project.yaml'), yaml.replace('timeZone:', `${background}timeZone:`));
  await mkdir(join(project, 'ground'));
  await writeFile(join(project, 'ground/site.png'), png);
  await writeFile(join(project, 'ground/site.pgw'), around());
  await writeFile(join(project, 'ground/contours.geojson'), contours);
});
afterAll(() => rm(folder, { recursive: true, force: true }));

test('image and layers are in the snapshot, its manifest and its inputs; the pages show the image by a relative address', async () => {
  await mustRun(['snapshot', project, '--out', site, '--single-file', join(folder, 'one.html')]);
  await mustRun(['verify', site]);
  const { map, inputs } = await read(site);
  const { image, layers } = map.background!;
  expect((await readFile(join(site, image!.path))).equals(png)).toBe(true);
  expect(image!.bytes).toBe(png.length);
  expect(layers).toMatchObject([{ name: 'contours', lines: [{ label: '1490' }] }]);
  const paths = inputs.map(({ path }) => path);
  for (const path of ['ground/site.png', 'ground/site.pgw', 'ground/contours.geojson'])
    expect(paths).toContain(path);
  const html = await readFile(join(site, 'map.html'), 'utf8');
  expect(html).toContain(`<image id="map-wide-background" href="${image!.path}" width="640" height="480"`);
  const manifest = JSON.parse(await readFile(join(site, 'manifest.json'), 'utf8')) as {
    files: { path: string }[];
  };
  expect(manifest.files.map(({ path }) => path)).toContain(image!.path);
  // What is mailed has it once, and fetches nothing.
  const one = await readFile(join(folder, 'one.html'), 'utf8');
  expect(one.match(/data:image\/png;base64,/g)).toHaveLength(1);
  expect(one).toContain('<use href="#map-wide-background"');
  expect(one).not.toContain(image!.path);
});

test('the image lies where its grid lies on the plan: turned by the convergence, scaled by the map', async () => {
  const { image } = (await read(site)).map.background!;
  const projection = mapProjection('EPSG:25832');
  const yaml = parse(await readFile(join(project, 'project.yaml'), 'utf8')) as {
    stations: {
      id: string;
      role: string;
      position: { latitude: number; longitude: number; height: number };
    }[];
  };
  const origin = yaml.stations.find(({ role }) => role === 'base')!.position;
  const frame = TopocentricFrame.atGeodetic(ellipsoids['GRS 1980'], {
    latitude: radians(origin.latitude),
    longitude: radians(origin.longitude),
    height: origin.height,
  });
  // A pixel in the middle: from the plan to the map by the projection itself, and by the world file.
  const [column, row] = [321, 240];
  const plan = [0, 1].map(
    (k) => image!.corner_m[k]! + (column + 0.5) * image!.column_m[k]! + (row + 0.5) * image!.row_m[k]!,
  ) as [number, number];
  const at = toGeodetic(ellipsoids['GRS 1980'], frame.toGeocentric({ east: plan[0], north: plan[1], up: 0 }));
  const { easting, northing } = projection.fromGeodetic(at);
  expect(easting).toBeCloseTo(station[0] - 800 + 2.5 * column, 1);
  expect(northing).toBeCloseTo(station[1] + 600 - 2.5 * row, 1);
});

describe('what cannot be drawn is told by check, and nothing is written by snapshot', () => {
  const files = ['project.yaml', 'ground/site.png', 'ground/site.pgw', 'ground/contours.geojson'];
  let kept: Buffer[];
  beforeAll(async () => (kept = await Promise.all(files.map((file) => readFile(join(project, file))))));
  /** What check and snapshot say, which both must end with 1; the project is then as it was. */
  const refusals = async (): Promise<string[]> => {
    const out = join(folder, 'none');
    const said: string[] = [];
    for (const args of [
      ['check', project],
      ['snapshot', project, '--out', out],
    ]) {
      const { code, err } = await stillmark(args);
      said.push(code === 1 ? err : `${code}`);
    }
    await expect(readFile(join(out, 'index.html'))).rejects.toThrow(/ENOENT/);
    for (const [i, file] of files.entries()) await writeFile(join(project, file), kept[i]!);
    return said;
  };
  const both = (expected: RegExp): unknown[] => [
    expect.stringMatching(expected),
    expect.stringMatching(expected),
  ];

  test('no world file', async () => {
    await rm(join(project, 'ground/site.pgw'));
    expect(await refusals()).toEqual(
      both(
        /project\.yaml error INPUT_NONE\s+beside ground\/site\.png lies no world file[^]*site\.pgw, ground\/site\.pngw, ground\/site\.wld/,
      ),
    );
  });
  test('two of them', async () => {
    await writeFile(join(project, 'ground/site.wld'), around());
    expect(await refusals()).toEqual(both(/several world files: ground\/site\.pgw, ground\/site\.wld/));
    await rm(join(project, 'ground/site.wld'));
  });
  test('five lines', async () => {
    await writeFile(join(project, 'ground/site.pgw'), world(2.5, 0, 0, -2.5, station[0]));
    expect(await refusals()).toEqual(
      both(/ground\/site\.pgw:5 error BACKGROUND_INVALID\s+the world file has 5 lines/),
    );
  });
  test('an image that is none', async () => {
    await writeFile(join(project, 'ground/site.png'), '<html>not found</html>');
    expect(await refusals()).toEqual(
      both(/ground\/site\.png error BACKGROUND_INVALID\s+this is something else/),
    );
  });
  test('an image that is too heavy', async () => {
    await writeFile(join(project, 'ground/site.png'), Buffer.concat([png, Buffer.alloc(4_000_000)]));
    expect(await refusals()).toEqual(both(/the image has \d+ bytes, a site takes 4000000 at most/));
  });
  test('another grid: the places of both are told', async () => {
    await writeFile(join(project, 'ground/site.pgw'), world(2.5, 0, 0, -2.5, station[1], station[0]));
    expect(await refusals()).toEqual(both(new RegExp(`ground/site\\.pgw:5 error BACKGROUND_INVALID\\s+the image lies \\d+ km from the nearest station[^]*${station[1]}, ${station[0]}, station \\w+ at ${station[0]}, ${station[1]}`))); // prettier-ignore
  });
  test('a layer with latitude first', async () => {
    await writeFile(
      join(project, 'ground/contours.geojson'),
      contours.replaceAll(/\[(9\.8\d),(46\.42)\]/g, '[$2,$1]'),
    );
    expect(await refusals()).toEqual(
      both(/every line lies \d+ km or more from the nearest station[^]*longitude first/),
    );
  });
  test('an image outside the project folder', async () => {
    const yaml = await readFile(join(project, 'project.yaml'), 'utf8');
    await writeFile(join(folder, 'site.png'), png);
    await writeFile(join(folder, 'site.pgw'), around());
    await writeFile(join(project, 'project.yaml'), yaml.replace('ground/site.png', '../site.png'));
    expect(await refusals()).toEqual(both(/INPUT_PLACE/));
  });
});

test('archive and restore keep it: the site computed again is the same to the byte', async () => {
  const bag = join(folder, 'bag.zip');
  await mustRun(['archive', project, '--site', site, '--out', bag]);
  await mustRun(['restore', bag, '--out', join(folder, 'back')]);
  const back = join(folder, 'back/project');
  for (const file of ['ground/site.png', 'ground/site.pgw', 'ground/contours.geojson'])
    expect((await readFile(join(back, file))).equals(await readFile(join(project, file)))).toBe(true);
  await mustRun(['ingest', back]);
  await mustRun(['snapshot', back, '--out', join(folder, 'again')]);
  for (const file of ['map.html', 'snapshot.json', 'manifest.json'])
    expect((await readFile(join(folder, 'again', file))).equals(await readFile(join(site, file)))).toBe(true);
  // An image that has changed since is not the one of the site.
  await rename(join(project, 'ground/site.pgw'), join(folder, 'kept.pgw'));
  await writeFile(join(project, 'ground/site.pgw'), around(5));
  const other = await stillmark(['archive', project, '--site', site, '--out', join(folder, 'other.zip')]);
  expect(other.err).toMatch(/ground\/site\.pgw error ARCHIVE_SITE/);
  await rename(join(folder, 'kept.pgw'), join(project, 'ground/site.pgw'));
});

describe('released', () => {
  const approve = async (hide: string, name: string): Promise<{ html: string; record: string; out: string }> => {
    const file = join(project, 'project.yaml');
    const before = await readFile(file, 'utf8');
    await writeFile(file, `${before}\nrelease: { hide: { ${hide} } }\n`);
    const out = join(folder, name);
    await mustRun(['release', project, '--site', site, '--by', 'owner', '--at', '2026-11-24T08:00:00Z', '--out', out]);
    await writeFile(file, before);
    const [html, record] = await Promise.all(['index.html', 'statements.json'].map((f) => readFile(join(out, f), 'utf8')));
    return { html: html!, record: record!, out };
  }; // prettier-ignore

  test('the image is frozen with the statements, and stands in the released site', async () => {
    const { html, out } = await approve('', 'whole');
    const [, path] = /<image [^>]*href="(assets\/background-[^"]+)"/.exec(html)!;
    expect((await readFile(join(out, path!))).equals(png)).toBe(true);
    await mustRun(['verify', out]);
    const frozen = join(project, 'releases', path!.replace('assets/', ''));
    // A later snapshot shows what was approved; a frozen image that is another now is not shown.
    const write = ['snapshot', project, '--out', join(folder, 'technical'), '--released', out];
    await mustRun(write);
    expect(await readFile(join(out, 'index.html'), 'utf8')).toContain(path);
    await writeFile(frozen, 'x');
    const changed = await stillmark(write);
    expect(changed.err).toMatch(
      /releases\/background-\w+\.png error SNAPSHOT_FILE\s+what was released is not what was approved/,
    );
    await writeFile(frozen, png);
  });

  test('with coordinates hidden nothing of it goes out', async () => {
    const { html, record, out } = await approve('coordinates: true', 'placeless');
    expect(html + record).not.toMatch(/background-|<image|contours|1490/);
    await expect(readFile(join(out, 'assets/background.png'))).rejects.toThrow(/ENOENT/);
  });

  test('with a station hidden the image stays, and lines go out without what names it', async () => {
    const { html, record } = await approve('stations: [S2]', 'fewer');
    expect(html + record).not.toMatch(/background-|<image/);
    expect(record).toContain('contours');
  });

  test('and where it is said, lines stay too', async () => {
    const { html, record } = await approve('background: true', 'bare');
    expect(html + record).not.toMatch(/<image|"background"|contours/);
    expect(html).toContain('m north');
  });
});
