import { lstat, mkdtemp, readdir, readFile, rm, symlink, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { stillmark, type Ended } from '../support/command.ts';

let folder: string;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-transform-'));
  await writeFile(
    join(folder, 'project.yaml'),
    `stillmark: 1
title: A slope
frame: { name: ITRF2020, ellipsoid: GRS 1980, epoch: "2024.25" }
processingInterval: 24 h
requirement: { horizontal: 10 mm, up: 15 mm }
transformations:
  - from: ITRF2020
    to: old datum
    convention: position vector
    translation: [-446.448, 125.157, -542.06]
    rotation: [-0.1502, -0.247, -0.8421]
    scale: 20.4894
    source: invented
map:
  projection: EPSG:25832
  frame: ETRF2000
  siteGrid: { name: works grid, map: { easting: 692000, northing: 5336000 }, site: { x: 1000, y: 2000 }, bearing: 90 }
stations:
  - { id: B1, role: base, on: rock, position: { latitude: 48.1, longitude: 11.5, height: 812 } }
  - { id: S1, role: monitoring, on: slope, position: { latitude: 48.101, longitude: 11.501, height: 780 } }
streams:
  - { name: main, kind: relative, base: B1, solution: epoch-wise, files: [p.csv], columns: { station: s, time: t, x: x, y: y, z: z, xx: a, xy: b, xz: c, yy: d, yz: e, zz: f } }
`,
  );
});
afterAll(() => rm(folder, { recursive: true, force: true }));

const transform = (...args: string[]): Promise<Ended> => stillmark(['transform', ...args], { cwd: folder });
const csv = async (name: string, text: string): Promise<string> => {
  await writeFile(join(folder, name), text);
  return name;
};

describe('one point', () => {
  test('between frames: Alice Springs, GDA2020 Technical Manual (ICSM), 3.3.1', async () => {
    const { code, out, err } = await transform(
      '--point=-4052052.6588,4212835.9938,-2545104.6946',
      '--from',
      'ITRF2014',
      '--to',
      'GDA2020',
      '--epoch',
      '2018.0',
    );
    expect({ code, out }).toEqual({
      code: 0,
      out: 'x             -4052052.7373 m\ny              4212835.9835 m\nz             -2545104.5867 m\n',
    });
    expect(err).toBe(
      'ITRF2014 to GDA2020, EPSG 8049: EPSG Dataset v13.101 (2026-08-10), coordinate transformations by the code beside each\n',
    );
  });

  test('from a frame to a map of another, PROJ 9.1.1: helmert with the parameters of EPSG 10586, cart, utm', async () => {
    const { out } = await transform(
      '--point',
      '4177301.2345,856210.4567,4729012.3456',
      '--epoch',
      '2024.25',
      '--decimals',
      '6',
      '--from',
      'ITRF2020',
      '--to',
      'ETRF2000',
      '--output',
      'EPSG:25832',
      '--json',
    );
    const [point] = (JSON.parse(out) as { points: Record<string, number>[] }).points;
    expect(Math.abs(point!['easting']! - 692_136.6694955)).toBeLessThan(2e-7);
    expect(Math.abs(point!['northing']! - 5_336_237.1160543)).toBeLessThan(2e-7);
    expect(Math.abs(point!['height']! - 1297.7601986)).toBeLessThan(2e-7);
  });

  test('onto the grid of a site, whose y axis points to grid east', async () => {
    const { code, out } = await transform(
      '--point',
      '692136.6695,5336237.1161,1297.76',
      '--input',
      'map',
      '--output',
      'site',
      '--project',
      '.',
    );
    expect({ code, out }).toEqual({
      code: 0,
      out: 'siteX              762.8839 m\nsiteY             2136.6695 m\nheight            1297.7600 m\n',
    });
  });

  test('with the plate to another epoch, and back: the same point', async () => {
    const plate = ['--plate', 'ITRF2020:EURA', '--from', 'ITRF2020', '--to', 'ITRF2020', '--decimals', '9'];
    const there = await transform(
      '--point',
      '4177301.2,856210.4,4729012.3',
      ...plate,
      '--epoch',
      '2015',
      '--to-epoch',
      '2026',
    );
    const moved = there.out.match(/-?\d+\.\d+/g)!;
    const distance = Math.hypot(
      Number(moved[0]) - 4_177_301.2,
      Number(moved[1]) - 856_210.4,
      Number(moved[2]) - 4_729_012.3,
    );
    // Eleven years at some 26 mm.
    expect(distance).toBeGreaterThan(0.26);
    expect(distance).toBeLessThan(0.31);
    const back = await transform(
      `--point=${moved.join(',')}`,
      ...plate,
      '--epoch',
      '2026',
      '--to-epoch',
      '2015',
    );
    // The rotation is of first order both ways: its square is what is left, tenths of a micrometre.
    expect(back.out.match(/-?\d+\.\d+/g)!.map((v) => Number(Number(v).toFixed(5)))).toEqual([
      4_177_301.2, 856_210.4, 4_729_012.3,
    ]);
  });

  test('a covariance goes along the axes of the coordinates', async () => {
    const { out } = await transform(
      '--point',
      '0,0,0',
      '--input',
      'geodetic',
      '--output',
      'geocentric',
      '--covariance',
      '1e-6,0,0,4e-6,0,9e-6',
    );
    // At the crossing of equator and meridian of Greenwich X is up, Y east, Z north.
    expect(out.replaceAll(/ +/g, ' ')).toContain(
      'xx 0.000009 m2\nxy 0 m2\nxz 0 m2\nyy 0.000001 m2\nyz 0 m2\nzz 0.000004 m2\n',
    );
  });
});

describe('a file', () => {
  const points =
    'name,latitude,longitude,height,remark,time\nA,47.25,11.5,620.1,"wet, ""windy""",2020-01-01T00:00:00Z\nB,-33,151,10,,2026-07-02T12:00:00Z\n';

  test('new coordinates where the old ones stood, everything else as it was, each point at its own time', async () => {
    const file = await csv('points.csv', points);
    const { code, out } = await transform(
      file,
      '--input',
      'geodetic',
      '--from',
      'ITRF2020',
      '--to',
      'ITRF2008',
    );
    expect(code).toBe(0);
    const lines = out.trim().split('\n');
    expect(lines[0]).toBe('name,x,y,z,remark,time');
    expect(lines[1]).toMatch(/^A,4\d+\.\d{4},8\d+\.\d{4},4\d+\.\d{4},"wet, ""windy""",2020-01-01T00:00:00Z$/);
    expect(lines[2]).toMatch(/^B,-4\d+\.\d{4},/);
    const back = await csv('back.csv', out);
    const again = await transform(
      back,
      '--from',
      'ITRF2008',
      '--to',
      'ITRF2020',
      '--output',
      'geodetic',
      '--decimals',
      '3',
    );
    expect(again.out).toBe(
      'name,latitude,longitude,height,remark,time\nA,47.25000000,11.50000000,620.100,"wet, ""windy""",2020-01-01T00:00:00Z\nB,-33.00000000,151.00000000,10.000,,2026-07-02T12:00:00Z\n',
    );
  });

  test('by a transformation of the project to an old datum on another ellipsoid, written to a file', async () => {
    const file = await csv('old.csv', 'id,x,y,z\nP,3909833.018,-147097.138,5020322.478\n');
    // Ordnance Survey, A Guide to Coordinate Systems in Great Britain: the seven parameters and the point are of its example.
    const { code, out, err } = await transform(
      file,
      '--from',
      'ITRF2020',
      '--to',
      'old datum',
      '--project',
      '.',
      '--out',
      'new.csv',
      '--decimals',
      '3',
    );
    expect({ code, out, err }).toEqual({
      code: 0,
      out: 'ITRF2020 to old datum: invented\nwritten to new.csv\n',
      err: '',
    });
    expect(await readFile(join(folder, 'new.csv'), 'utf8')).toBe(
      'id,x,y,z\nP,3909460.068,-146987.302,5019888.071\n',
    );
    const map = await transform(
      'new.csv',
      '--output',
      'EPSG:27700',
      '--from',
      'old datum',
      '--to',
      'old datum',
      '--project',
      '.',
    );
    expect(map.code).toBe(0);
  });

  test('of bad rows all are told and nothing is written', async () => {
    const file = await csv('bad.csv', 'latitude,longitude,height\n47,11,1\n95,11,1\nx,11,1\n47,11,\n');
    const { code, out, err } = await transform(file, '--input', 'geodetic', '--out', 'never.csv');
    expect({ code, out }).toEqual({ code: 1, out: '' });
    expect(err).toContain('bad.csv:4:1 error INPUT_NUMBER');
    expect(err).toContain('bad.csv:5:7 error INPUT_NUMBER');
    await expect(readFile(join(folder, 'never.csv'))).rejects.toThrow(/ENOENT/);
    await csv('range.csv', 'latitude,longitude,height\n47,11,1\n95,11,1\n');
    expect((await transform('range.csv', '--input', 'geodetic')).err).toContain(
      'range.csv:3 error GEODESY_RANGE\n  the latitude 95 is beyond 90 degrees',
    );
    await csv('centre.csv', 'x,y,z\n0,0,0\n');
    expect((await transform('centre.csv', '--output', 'geodetic')).err).toContain(
      'centre.csv:2 error GEODESY_RANGE',
    );
    await csv('cov.csv', 'x,y,z,xx,xy,xz,yy,yz,zz\n1,2,3,1,2,0,1,0,1\n');
    expect((await transform('cov.csv')).err).toContain('cov.csv:2 error GEODESY_COVARIANCE');
    await csv('epoch.csv', 'x,y,z,epoch\n4e6,1e6,4e6,2020\n4e6,1e6,4e6,20\n');
    expect((await transform('epoch.csv', '--from', 'ITRF2020', '--to', 'ITRF2014')).err).toContain(
      'epoch.csv:3 error GEODESY_EPOCH\n  ITRF2020 to ITRF2014: 20 is not an epoch',
    );
  });
});

describe('the map of a project', () => {
  test('is in its own frame: the command brings points there as the station pages do', async () => {
    const point = ['--point', '4177301.2345,856210.4567,4729012.3456', '--project', '.', '--json'];
    const onMap = async (...args: string[]): Promise<Record<string, number>> =>
      (JSON.parse((await transform(...point, ...args)).out) as { points: Record<string, number>[] })
        .points[0]!;
    // The epoch of the held coordinates, 2024.25, is that of the project file; by PROJ as above.
    const map = await onMap('--output', 'map');
    expect(Math.abs(map['easting']! - 692_136.6694955)).toBeLessThan(2e-7);
    const wrong = await transform(
      '--point',
      '1,2,3',
      '--output',
      'map',
      '--project',
      '.',
      '--to',
      'ITRF2014',
    );
    expect(wrong).toMatchObject({ code: 2, out: '' });
    expect(wrong.err).toContain('the map of the project is in ETRF2000, and --to says ITRF2014');
  });
});

describe('where the result is written', () => {
  const to = (out: string): Promise<Ended> => transform('--point', '1,2,3e6', '--out', out);

  test('a link stays a link, and what it leads to is written', async () => {
    await csv('real.txt', 'old');
    await symlink('real.txt', join(folder, 'link.txt'));
    expect((await to('link.txt')).code).toBe(0);
    expect((await lstat(join(folder, 'link.txt'))).isSymbolicLink()).toBe(true);
    expect(await readFile(join(folder, 'real.txt'), 'utf8')).toContain('x ');
  });

  test.each(['', 'new/', '.', 'nowhere/x.csv', '/dev/full'])("'%s' is no place for a file", async (out) => {
    const { code, err } = await to(out);
    expect({ code }).toEqual({ code: 2 });
    expect(err).toContain('USE_OPTION');
    expect((await readdir(folder)).filter((name) => name.includes('partial'))).toEqual([]);
  });
});

test('JSON tells the epoch to which points were moved, and what the file held beside apart from the result', async () => {
  await csv('held.csv', 'id,x,y,z,height,epoch\nA,4177301.2,856210.4,4729012.3,1.5,2010.5\n');
  const args = [
    'held.csv',
    '--from',
    'ITRF2020',
    '--to',
    'ITRF2020',
    '--plate',
    'ITRF2020:EURA',
    '--to-epoch',
    '2020',
  ];
  const { out } = await transform(...args, '--output', 'geodetic', '--json');
  const [point] = (JSON.parse(out) as { points: object[] }).points;
  expect(point).toMatchObject({ given: { id: 'A', height: '1.5' }, epoch: 2020 });
  const clash = await transform(...args, '--output', 'geodetic');
  expect(clash).toMatchObject({ code: 2, out: '' });
  expect(clash.err).toContain('a column height of its own');
  expect((await transform(...args)).out).toMatch(/^id,x,y,z,height,epoch\nA,.*,1\.5,2020\n$/);
});

describe('what does not fit together is told, with what would', () => {
  const one = ['--point', '4177301.2,856210.4,4729012.3'];
  test.each([
    [[...one, '--from', 'ITRF2020', '--to', 'ITRF2014'], 1, 'coordinates in a dynamic frame need an epoch'],
    [[...one, '--from', 'ITRF2020'], 2, '--from without --to'],
    [[...one, '--from', 'ITRF2020', '--to', 'ITRF1899'], 1, "the frame 'ITRF1899' is not known"],
    [[...one, '--from', 'ITRF2014', '--to', 'IGS14', '--epoch', '2020'], 1, 'hold at 2010 only, not at 2020'],
    [[...one, '--output', 'polar'], 2, "'polar' is no kind of coordinates"],
    [[...one, '--output', 'topocentric'], 2, 'topocentric coordinates have an origin'],
    [[...one, '--output', 'geodetic:Earth'], 2, "the ellipsoid 'Earth' is not known"],
    [[...one, '--output', 'site'], 2, 'those of a project with a map'],
    [
      [...one, '--output', 'EPSG:27700', '--from', 'ITRF2020', '--to', 'ITRF2020'],
      1,
      'and ITRF2020 on GRS 1980',
    ],
    [
      ['--point', '47,11,0', '--input', 'geodetic', '--output', 'EPSG:27700'],
      1,
      'they belong to different datums',
    ],
    [[...one, '--to-epoch', '2020', '--epoch', '2015'], 2, '--to-epoch moves points with their plate'],
    [[...one, '--plate', 'ITRF2020:EURA'], 2, '--plate moves points in time'],
    [['missing.csv'], 2, 'there is no such file'],
    [[], 2, 'there is nothing to transform'],
    [['--point', '1,2'], 2, 'is not 3 numbers'],
    [[...one, '--epoch', 'yesterday'], 2, 'is not a decimal year'],
    [[...one, '--decimals', '12'], 2, 'is not a whole number from 0 to 9'],
    [['--point', '1,2,3', 'points.csv'], 2, 'a file and --point are both given'],
    [['points.csv', '--covariance', '1,0,0,1,0,1'], 2, '--covariance is that of --point'],
    [[...one, '--origin', '47,11,0'], 2, '--origin is that of topocentric coordinates'],
    [[...one, '--origin', '147,11,0', '--output', 'topocentric'], 2, 'the origin (147, 11, 0) is no place'],
    [['--point', '1e300,0,0', '--output', 'geodetic'], 1, 'is no place near the earth'],
    [['--point', '0x10,1,2'], 2, 'is not 3 numbers'],
    [[...one, '--output', 'EPSG:3857'], 1, 'EPSG:3857 is not a map projection'],
    [[...one, '--output', '+proj=utm +zone=99 +ellps=GRS80'], 1, '+zone=99 is not one of 1 to 60'],
    [[...one, '--output', '+proj=tmerc +lon_9=9 +ellps=GRS80'], 1, '+lon_9 is not known'],
    [['.'], 2, 'this is a folder'],
    [
      ['--point', '47,11,0', '--input', 'geodetic', '--covariance', '1,5,0,1,0,1'],
      1,
      'the covariance en (5) is larger',
    ],
  ])('%j', async (args, exit, message) => {
    const { code, out, err } = await transform(...args);
    expect({ code, out }).toEqual({ code: exit, out: '' });
    expect(err).toContain(message);
  });
});
