import { formatProblems } from '@stillmark/problems';
import { describe, expect, test } from 'vitest';
import { readProject } from './index.ts';

const project = (more: string): string => `stillmark: 1
title: A slope
frame: { name: ITRF2020, ellipsoid: GRS 1980, epoch: "2026.0" }
processingInterval: 24 h
requirement: { horizontal: 10 mm, up: 15 mm }
stations:
  - { id: B1, role: base, on: rock, position: { latitude: 46.1, longitude: 9.2, height: 812 } }
  - { id: S1, role: monitoring, on: slope, position: { latitude: 46.101, longitude: 9.201, height: 780 } }
streams:
  - name: main
    kind: relative
    base: B1
    solution: epoch-wise
    files: [positions/*.csv]
    columns: { station: s, time: t, x: x, y: y, z: z, xx: a, xy: b, xz: c, yy: d, yz: e, zz: f }
${more}`;
const told = (more: string): string => formatProblems(readProject(project(more)).problems);
const map = 'map: { projection: EPSG:25832, frame: ETRF2000 }';
const image = (more: string): string => `background: { image: { file: a.png, name: photograph${more} } }`;

describe('background of the map', () => {
  test('an image lies on the map of the project unless another is said; both are read with what is usual', () => {
    const { value, problems } = readProject(
      project(`${map}
background:
  image: { file: a.png, name: photograph }
  layers: [{ file: c.geojson, name: contours, labels: elevation }, { file: r.geojson, name: roads }]`),
    );
    expect(problems).toEqual([]);
    expect(value!.background).toEqual({
      image: { file: 'a.png', name: 'photograph', coordinates: 'map', strength: 0.6 },
      layers: [
        { file: 'c.geojson', name: 'contours', labels: 'elevation' },
        { file: 'r.geojson', name: 'roads' },
      ],
    });
  });

  test.each([
    ['another map', image(', coordinates: EPSG:25833')],
    ['another map in its frame', image(', coordinates: EPSG:25833, frame: ETRF2000')],
    ['a PROJ string', image(', coordinates: "+proj=tmerc +lat_0=46 +lon_0=9 +ellps=GRS80"')],
    ['layers alone', 'background: { layers: [{ file: c.geojson, name: contours }] }'],
  ])('%s is taken, without a map of the project', (_, more) => expect(told(more)).toBe(''));

  test.each([
    ['no map', image(''), /16:\d+ error PROJECT_REFERENCE[^]*on the map of the project, which has none/],
    [
      'no grid of the site',
      `${map}\n${image(', coordinates: site')}`,
      /17:\d+[^]*on the grid of the site, and the map has none/,
    ],
    ['degrees', image(', coordinates: EPSG:4326'), /EPSG:4326 is not a map projection/],
    ['degrees as PROJ has them', image(', coordinates: "+proj=longlat +ellps=GRS80"'), /\+proj=longlat/],
    ['a map of a sphere', image(', coordinates: EPSG:3857'), /GEODESY_PROJECTION/],
    ['another datum', image(', coordinates: EPSG:27700'), /on an ellipsoid of its own[^]*of the image/],
    ['an unknown frame', image(', coordinates: EPSG:25832, frame: home'), /GEODESY_FRAME/],
    ['a frame of the map of the project', `${map}\n${image(', frame: ETRF2000')}`, /has its own frame/],
    ['nothing', 'background: {}', /neither an image nor a layer/],
    ['an image that is hardly seen', `${map}\n${image(', strength: 0')}`, /strength/],
    ['a name of two lines', `${map}\n${image('').replace('photograph', '"a\\nb"')}`, /no line breaks/],
    [
      'two layers of one name',
      'background: { layers: [{ file: a, name: lines }, { file: b, name: lines }] }',
      /16:\d+ error PROJECT_DUPLICATE[^]*two layers are called lines/,
    ],
    [
      'five layers',
      `background: { layers: [${[1, 2, 3, 4, 5].map((i) => `{ file: a, name: l${i} }`).join(', ')}] }`,
      /at most four layers/,
    ],
  ])('%s: refused, with its place', (_, more, expected) => expect(told(more)).toMatch(expected));
});
