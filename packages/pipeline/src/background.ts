import { extname, join } from 'node:path';
import { readImageHead, readMapLayer, readWorldFile } from '@stillmark/formats';
import {
  composedAffine,
  inverseAffine,
  mapOnPlan,
  throughAffine,
  type PlaneAffine,
  type PlanePoint,
  type TopocentricFrame,
} from '@stillmark/geodesy';
import { fail } from '@stillmark/problems';
import type { Project } from '@stillmark/project';
import type { BackgroundRecord, ImageRecord, InputRecord, LayerRecord } from '@stillmark/records';
import type { Files } from './effects.ts';
import { ProjectGrid } from './map-grid.ts';
import { farOutline, nearestStation, planCoordinates } from './outline.ts';
import { checkInside, mapOrigin, projectFile, sha256, type ProjectFolder } from './project-folder.ts';
import { approximatePosition } from './project-settings.ts';

/** What lies under the map, the bytes of its image, and the files that it was read from. */
export interface ReadBackground {
  readonly record?: BackgroundRecord;
  readonly image?: Uint8Array;
  readonly inputs: readonly InputRecord[];
}

/** A site is looked at on phones: each page with a map loads its image. */
const mostBytes = 4_000_000;

/** The wide map has this many pixels: half of one is not seen. */
const mapPixels = 800;

/** Metres: a network of one point has a surrounding too. */
const leastExtent = 100;

/**
 * Reads the image and the layers under the map, and places them on the plan.
 *
 * @throws INPUT_NONE, INPUT_PLACE for files that are not there, or lie elsewhere; BACKGROUND_INVALID for what cannot be drawn where it lies
 */
export async function readBackgroundOf(opened: ProjectFolder, files: Files): Promise<ReadBackground> {
  const { background } = opened.project;
  if (!background) return { inputs: [] };
  const inputs: InputRecord[] = [];
  const read = async (path: string, what: string): Promise<Uint8Array> => {
    const bytes = await readNamed(opened, path, what, files);
    inputs.push({ path, sha256: sha256(bytes) });
    return bytes;
  };
  const origin = mapOrigin(opened);
  let image: { record: ImageRecord; bytes: Uint8Array } | undefined;
  if (background.image) {
    const { file } = background.image;
    await checkNamed(opened, file, imageWords, files);
    const size = await files.size(join(opened.folder, file));
    if (size > mostBytes)
      fail('BACKGROUND_INVALID', `the image has ${size} bytes, a site takes ${mostBytes} at most`, {
        at: { file },
        hint: 'larger pixels, grey in place of colour, or JPEG in place of PNG; the world file changes with the pixels',
      });
    const bytes = await read(file, imageWords);
    const worldFile = await worldFileOf(opened, background.image, files);
    const world = readWorldFile(await read(worldFile, 'world file of the image'), worldFile);
    image = { bytes, record: placed(opened, origin, background.image, bytes, worldFile, world) };
  }
  const layers: LayerRecord[] = [];
  for (const layer of background.layers)
    layers.push(layerOf(opened, origin, layer, await read(layer.file, `layer ${layer.name}`)));
  return {
    record: { ...(image ? { image: image.record } : {}), layers },
    ...(image ? { image: image.bytes } : {}),
    inputs,
  };
}

/**
 * Files of the background as the project names them, with the world file where it lies.
 *
 * @throws as {@link readBackgroundOf} where the world file is missing
 */
export async function backgroundFiles(opened: ProjectFolder, files: Files): Promise<string[]> {
  const { image, layers = [] } = opened.project.background ?? {};
  return [
    ...(image ? [image.file, await worldFileOf(opened, image, files)] : []),
    ...layers.map(({ file }) => file),
  ];
}

const imageWords = 'image under the map';

async function checkNamed(opened: ProjectFolder, path: string, what: string, files: Files): Promise<void> {
  if ((await files.kind(join(opened.folder, path))) === 'nothing')
    fail('INPUT_NONE', `there is no file ${path} (${what})`, {
      at: { file: projectFile },
      hint: 'a file inside the project folder',
    });
  await checkInside(opened, path, files);
}

async function readNamed(
  opened: ProjectFolder,
  path: string,
  what: string,
  files: Files,
): Promise<Uint8Array> {
  await checkNamed(opened, path, what, files);
  return (await files.read(join(opened.folder, path)))!;
}

type Image = NonNullable<NonNullable<Project['background']>['image']>;

/**
 * The world file that an image is said to have, or that lies beside it under one of the usual names: of `site.png` `site.pgw` (the first
 * and the last letter of the ending, and w), `site.pngw` and `site.wld`; `site.tfw` of an image that was a TIFF.
 */
async function worldFileOf(
  { folder }: ProjectFolder,
  { file, worldFile }: Image,
  files: Files,
): Promise<string> {
  if (worldFile !== undefined) return worldFile;
  const ending = extname(file).slice(1).toLowerCase();
  const stem = file.slice(0, file.length - extname(file).length);
  const endings = new Set([
    ...(ending === '' ? [] : [`${ending[0]!}${ending.at(-1)!}w`, `${ending}w`]),
    'wld',
    'tfw',
  ]);
  const there = async (path: string): Promise<boolean> =>
    (await files.kind(join(folder, path))) !== 'nothing';
  const found: string[] = [];
  for (const own of endings)
    for (const path of [`${stem}.${own}`, `${stem}.${own.toUpperCase()}`])
      if (await there(path)) {
        found.push(path);
        break;
      }
  if (found.length === 0)
    fail('INPUT_NONE', `beside ${file} lies no world file`, {
      at: { file: projectFile },
      hint: `${[...endings].map((own) => `${stem}.${own}`).join(', ')}, or worldFile: of the image`,
    });
  if (found.length > 1)
    fail('BACKGROUND_INVALID', `beside ${file} lie several world files: ${found.join(', ')}`, {
      at: { file: projectFile },
      hint: 'worldFile: of the image says which one counts',
    });
  return found[0]!;
}

/** The image on the plan, or why it cannot lie there. */
function placed(
  opened: ProjectFolder,
  origin: TopocentricFrame,
  image: Image,
  bytes: Uint8Array,
  worldFile: string,
  world: PlaneAffine,
): ImageRecord {
  const { project, ellipsoid } = opened;
  const head = readImageHead(bytes, image.file);
  const own = image.coordinates === 'map' || image.coordinates === 'site';
  const grid = own ? ProjectGrid.of(project)! : ProjectGrid.on(project, image.coordinates, image.frame);
  const on = image.coordinates === 'site' ? 'site' : 'map';
  const map = on === 'site' ? grid.record.site!.name : grid.record.projection;
  const stations = project.stations.map((station) => {
    const point = approximatePosition(ellipsoid, station);
    const { east, north } = origin.fromGeocentric(point);
    return { id: station.id, point, plan: [east, north] as const };
  });
  const middle = [0, 1].map((k) => {
    const values = stations.map(({ plan }) => plan[k]!);
    const [least, most] = [Math.min(...values), Math.max(...values)];
    return { at: (least + most) / 2, extent: most - least };
  });
  const extent = Math.max(leastExtent, ...middle.map((m) => m.extent));
  const [east, north] = middle.map(({ at }) => [at - extent, at + extent] as const);
  const { map: onPlan, largest_m } = mapOnPlan((point) => grid.plane(point, on), origin, ellipsoid, {
    east: east!,
    north: north!,
  });
  if (largest_m > extent / mapPixels / 2)
    fail(
      'BACKGROUND_INVALID',
      `drawn without resampling, an image on ${map} would be off by up to ${largest_m.toPrecision(2)} m about the stations`,
      {
        at: { file: image.file },
        hint: 'the image resampled to a map of smaller distortion, such as that of the zone',
      },
    );
  const pixels = composedAffine(onPlan, world);
  checkDistance(stations, pixels, head, extent, (nearest) => {
    const [x, y] = grid.plane(stations[0]!.point, on);
    const whole = (value: number): string => value.toFixed(0);
    return fail('BACKGROUND_INVALID', `the image lies ${distanceText(nearest)} from the nearest station`, {
      at: { file: worldFile, line: 5 },
      hint: `a world file in ${map}: its upper left pixel lies at ${world.origin.map(whole).join(', ')}, station ${stations[0]!.id} at ${whole(x)}, ${whole(y)}; perhaps another grid, another unit, or east and north exchanged`,
    });
  });
  const hash = sha256(bytes);
  const step = ([e, n]: PlanePoint): [number, number] => [
    Number(e.toPrecision(10)),
    Number(n.toPrecision(10)),
  ];
  const [cornerEast, cornerNorth] = throughAffine(pixels, [-0.5, -0.5]);
  return {
    name: image.name,
    path: `assets/background-${hash.slice(0, 12)}.${head.type}`,
    sha256: hash,
    bytes: bytes.length,
    width_px: head.width_px,
    height_px: head.height_px,
    corner_m: [Number(cornerEast.toFixed(3)), Number(cornerNorth.toFixed(3))],
    column_m: step(pixels.x),
    row_m: step(pixels.y),
    map,
    strength: image.strength,
  };
}

const distanceText = (metres: number): string =>
  metres < 10_000 ? `${Math.round(metres)} m` : `${Math.round(metres / 1000)} km`;

/** An image that ends further from every station than the network is wide is one of another place. */
function checkDistance(
  stations: readonly { readonly plan: PlanePoint }[],
  pixels: PlaneAffine,
  { width_px, height_px }: { readonly width_px: number; readonly height_px: number },
  extent: number,
  refuse: (nearest: number) => never,
): void {
  const back = inverseAffine(pixels);
  const clamp = (value: number, size: number): number => Math.min(Math.max(value, -0.5), size - 0.5);
  const distances = stations.map(({ plan }) => {
    const [column, row] = throughAffine(back, plan);
    const [east, north] = throughAffine(pixels, [clamp(column, width_px), clamp(row, height_px)]);
    return Math.hypot(east - plan[0], north - plan[1]);
  });
  const nearest = Math.min(...distances);
  if (!(nearest <= extent)) refuse(nearest);
}

function layerOf(
  opened: ProjectFolder,
  origin: TopocentricFrame,
  { file, name, labels }: NonNullable<Project['background']>['layers'][number],
  bytes: Uint8Array,
): LayerRecord {
  const lines = readMapLayer(bytes, file, labels).map(({ label, closed, points }) => ({
    ...(label === undefined ? {} : { label }),
    closed,
    points_m: points.flatMap((point) => planCoordinates(opened, origin, point)),
  }));
  const distance = nearestStation(opened, origin);
  let nearest = Number.POSITIVE_INFINITY;
  for (const { points_m: p } of lines)
    for (let i = 0; i < p.length; i += 2) nearest = Math.min(nearest, distance(p[i]!, p[i + 1]!));
  if (nearest > farOutline)
    fail('BACKGROUND_INVALID', `every line lies ${distanceText(nearest)} or more from the nearest station`, {
      at: { file },
      hint: 'GeoJSON has the longitude first, then the latitude, in degrees',
    });
  return { name, lines };
}
