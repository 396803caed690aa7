import { formatProblems } from '@stillmark/problems';
import { describe, expect, test } from 'vitest';
import { mapEpoch, readProject } from './index.ts';

const project = (more: string, stream = ''): string => `stillmark: 1
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
${stream}
${more}`;
const told = (more: string, stream = ''): string =>
  formatProblems(readProject(project(more, stream)).problems);

const old = `transformations:
  - from: ITRF2020
    to: old datum
    convention: coordinate frame
    translation: [-84.1, -96.2, -118.3]
    rotation: [0.1, -0.2, 0.3]
    scale: 1.2
    source: invented`;

describe('transformations of the project', () => {
  test('units are those of the publication, and come out as millimetres, milliarcseconds and ppb', () => {
    const { value, problems } = readProject(project(old));
    expect(problems).toEqual([]);
    expect(value!.transformations).toEqual([
      {
        from: 'ITRF2020',
        to: 'old datum',
        convention: 'coordinate frame',
        translation_mm: [-84_100, -96_200, -118_300],
        rotation_mas: [100, -200, 300],
        scale_ppb: 1200,
        source: 'invented',
      },
    ]);
    const small = readProject(
      project(
        'transformations: [{ from: ITRF2020, to: t, convention: position vector, units: { translation: mm, rotation: mas, scale: ppb }, translation: [1, 2, 3], translationRate: [0.1, 0, 0], epoch: 2015, exact: true, pivot: [1, 2, 3], source: invented }]',
      ),
    ).value!.transformations[0];
    expect(small).toMatchObject({
      translation_mm: [1, 2, 3],
      translationRate_mm: [0.1, 0, 0],
      epoch: 2015,
      exact: true,
      pivot_m: [1, 2, 3],
    });
  });

  test('a sign that is not said, rates without an epoch, two numbers for three, and a way given twice are told', () => {
    expect(told(old.replace('    convention: coordinate frame\n', ''))).toMatch(
      /convention of transformation 1 is missing\n.*\n.*\n\s*would be right: position vector or coordinate frame/,
    );
    expect(told(`${old}\n    scaleRate: 0.1`)).toContain('need the epoch at which they hold');
    expect(told(old.replace('[0.1, -0.2, 0.3]', '[0.1, -0.2]'))).toContain('three numbers: x, y, z');
    expect(
      told(
        `${old}\n  - { from: old datum, to: ITRF2020, convention: position vector, translation: [0, 0, 0], source: x }`,
      ),
    ).toContain('given twice, first as transformation 1');
    expect(told(old.replace('to: old datum', 'to: ITRF2020'))).toContain('from ITRF2020 to itself');
  });
});

describe('frames of streams', () => {
  test('a frame must be known and lead to that of the project, with the epoch of what is held', () => {
    expect(told('', '    frame: { name: ETRF2000, epoch: 2026.0 }')).toBe('');
    expect(told(old, '    frame: { name: old datum }')).toBe('');
    expect(told('', '    frame: { name: ETRF2001, epoch: 2026.0 }')).toMatch(
      /^project.yaml:16:12 error GEODESY_FRAME\n  the frame 'ETRF2001' is not known/,
    );
    expect(told('', '    frame: { name: ETRF2000 }')).toContain(
      'ITRF2020 to ETRF2000: coordinates in a dynamic frame need an epoch',
    );
    expect(told('', '    frame: { name: IGS20, epoch: 2026.0 }')).toContain('hold at 2015 only, not at 2026');
  });
});

describe('the map of a project', () => {
  test('a code, a PROJ string, a frame and the grid of the site', () => {
    const map = `map:
  projection: EPSG:25832
  frame: ETRF2000
  siteGrid: { name: works grid, map: { easting: 500000, northing: 5105000 }, site: { x: 0, y: 0 }, bearing: 12.5 }`;
    const { value, problems } = readProject(project(map));
    expect(problems).toEqual([]);
    expect(value!.map!.siteGrid!.scale).toBe(1);
    // The epoch of the held coordinates counts where none is said.
    expect(mapEpoch(value!)).toBe(2026);
    expect(told('map: { projection: +proj=tmerc +lon_0=9 +ellps=GRS80 }')).toBe('');
  });

  test.each([
    ['map: { projection: EPSG:4326 }', 'EPSG:4326 is not a map projection that is known here'],
    ['map: { projection: EPSG:99999 }', 'not a map projection'],
    ['map: { projection: +proj=longlat +ellps=GRS80 }', 'is no map projection'],
    ['map: { projection: +proj=utm +zone=32 +ellps=unheard }', "an ellipsoid 'unheard' that is not known"],
    ['map: { projection: EPSG:25832, frame: nowhere }', "the frame 'nowhere' is not known"],
    ['map: { projection: EPSG:27700 }', 'stands on an ellipsoid of its own'],
    [
      'map: { projection: EPSG:2263, siteGrid: { name: g, map: { easting: 1, northing: 2 }, site: { x: 0, y: 0 }, bearing: 0 } }',
      'is not in metres',
    ],
    [
      'map: { projection: EPSG:25832, siteGrid: { name: g, map: { easting: 1, northing: 2 }, site: { x: 0, y: 0 }, bearing: 400 } }',
      'bearing of siteGrid of map',
    ],
  ])('%s is told, with its place', (map, message) => {
    const text = told(map);
    expect(text).toContain(message);
    expect(text).toMatch(/^project\.yaml:17:\d+ error/);
  });

  test('a transformation that leads elsewhere is none to the datum of the map', () => {
    expect(told(`${old}\nmap: { projection: EPSG:27700 }`)).toContain('stands on an ellipsoid of its own');
  });

  test('a map on another ellipsoid serves with a transformation to its datum', () => {
    expect(told(`${old}\nmap: { projection: EPSG:27700, frame: old datum }`)).toBe('');
  });
});
