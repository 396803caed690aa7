import { cp, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parse } from 'yaml';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { stillmark } from '../support/command.ts';

let folder: string;
beforeAll(async () => (folder = await mkdtemp(join(tmpdir(), 'stillmark-init-'))));
afterAll(() => rm(folder, { recursive: true, force: true }));

const asked = ['--title', 'A slope: "north" # 1', '--horizontal', '8 mm', '--up', '15 mm'];
const header = 'id,role,on,latitude,longitude,height';
const list = async (name: string, ...rows: string[]): Promise<string> => {
  await writeFile(join(folder, name), `${[header, ...rows].join('\n')}\n`);
  return join(folder, name);
};
const stations = ['B1,base,rock,47.1,11.2,1200', 'B2,base,rock: east,47.104,11.21,1210', 'S1,monitoring,slope,47.101,11.204,1190']; // prettier-ignore

test('from a list of stations to a project, its plan and its site, before any position', async () => {
  const project = join(folder, 'new');
  const file = await list('stations.csv', ...stations);
  const written = await stillmark(['init', project, '--stations', file, ...asked]);
  expect(written).toMatchObject({ code: 0, err: '' });
  expect(written.out).toContain('3 stations, 2 of them bases');
  const yaml = await readFile(join(project, 'project.yaml'), 'utf8');
  // Read by a library that knows nothing of us.
  expect(parse(yaml)).toMatchObject({
    title: 'A slope: "north" # 1',
    stations: [{ id: 'B1' }, { id: 'B2', on: 'rock: east' }, { id: 'S1', role: 'monitoring' }],
    streams: [{ base: 'B1' }, { base: 'B2', columns: { xx: 'cxx' } }],
  });

  const checked = await stillmark(['check', project]);
  expect(checked.code).toBe(0);
  expect(checked.err).toContain('warning INPUT_NONE');
  expect((await stillmark(['ingest', project])).code).toBe(1);

  await writeFile(
    join(project, 'project.yaml'),
    `${yaml}
plan: { start: 2027-03-20, installation: { from: 2027-03-01, to: 2027-03-10 }, orders: [{ what: receivers, ordered: 2027-01-01, lead: 70 d }] }
assumedNoise: { horizontal: { white: 1 mm, flicker: 1 mm }, up: { white: 2 mm, flicker: 2 mm }, source: office }
`,
  );
  const told = await stillmark(['plan', project]);
  expect(told.code).toBe(0);
  expect(told.out).toContain('The start cannot be met');
  expect(told.out).toContain('What comes last is receivers, on 12 March 2027');
  expect(told.out).toContain('2 bases, which do not surround what is monitored');
  expect(told.out).toContain('If B1 fails: lost: stream from-B1; told by fewer streams: S1; 1 base left.');

  const bare = await stillmark(['snapshot', project, '--out', join(folder, 'site')]);
  expect(bare).toMatchObject({ code: 1 });
  expect(bare.err).toContain('--as-of');
  const site = await stillmark(['snapshot', project, '--out', join(folder, 'site'), '--as-of', '2027-01-01']);
  expect(site.code).toBe(0);
  const page = await readFile(join(folder, 'site', 'plan.html'), 'utf8');
  expect(page).toContain('The start cannot be met');
  expect(await readFile(join(folder, 'site', 'data.html'), 'utf8')).toContain(
    'No station has sent a position yet.',
  );
  expect((await stillmark(['verify', join(folder, 'site')])).code).toBe(0);
});

test('nothing is written over, and nothing half-written', async () => {
  const project = join(folder, 'kept');
  await cp(join(folder, 'new'), project, { recursive: true });
  const before = await readFile(join(project, 'project.yaml'), 'utf8');
  const file = await list('again.csv', ...stations);
  expect((await stillmark(['init', project, '--stations', file, ...asked])).err).toContain(
    'USE_OUTPUT_TAKEN',
  );
  expect(await readFile(join(project, 'project.yaml'), 'utf8')).toBe(before);
  for (const [rows, options, message] of [
    [stations.slice(2), asked, 'the list has no base'],
    [[...stations, stations[0]!], asked, 'PROJECT_DUPLICATE'],
    [stations, [...asked.slice(0, 2), '--horizontal', '8', '--up', '15 mm'], "'8' is not a length"],
    [stations, [...asked, '--time-zone', 'Mars/Olympus'], 'Mars/Olympus'],
  ] as const) {
    const wrong = join(folder, 'wrong');
    const told = await stillmark(['init', wrong, '--stations', await list('wrong.csv', ...rows), ...options]);
    expect(told.code).not.toBe(0);
    expect(told.err).toContain(message);
    await expect(readFile(join(wrong, 'project.yaml'))).rejects.toThrow('ENOENT');
  }
});

test('orbits of another time, and a zone that crosses itself, are told', async () => {
  const project = join(folder, 'bad');
  await cp(join(folder, 'new'), project, { recursive: true });
  const yaml = (await readFile(join(project, 'project.yaml'), 'utf8')).replace(
    'plan: {',
    'outline: o.geojson\nplan: { sky: { orbits: [o.alm], from: 2027-03-01T00:00:00Z },',
  );
  await writeFile(join(project, 'project.yaml'), yaml);
  // One satellite of a week that is years away: fields of the almanac format YUMA, as IS-GPS-200 names them; values invented.
  const fields = { ID: 7, Health: 0, Eccentricity: 0.01, 'Time of Applicability(s)': 0, 'Orbital Inclination(rad)': 0.96, 'Rate of Right Ascen(r/s)': -8e-9, 'SQRT(A)  (m 1/2)': 5153.6, 'Right Ascen at Week(rad)': 1, 'Argument of Perigee(rad)': 0.5, 'Mean Anom(rad)': 2, 'Af0(s)': 0, 'Af1(s/s)': 0, week: 100 }; // prettier-ignore
  const almanac = Object.entries(fields).map(([name, value]) => `${name}: ${value}`).join('\n'); // prettier-ignore
  await writeFile(join(project, 'o.alm'), `******** Week 100 almanac for PRN-07 ********\n${almanac}\n`);
  const ring = (points: number[][]): string =>
    JSON.stringify({ type: 'FeatureCollection', features: [{ type: 'Feature', properties: { kind: 'zone', name: 'zone' }, geometry: { type: 'Polygon', coordinates: [[...points, points[0]]] } }] }); // prettier-ignore
  const corners = [[11.203, 47.1005], [11.205, 47.1005], [11.205, 47.1015], [11.203, 47.1015]]; // prettier-ignore
  await writeFile(join(project, 'o.geojson'), ring(corners));
  const told = await stillmark(['plan', project]);
  expect(told.code).toBe(0);
  expect(told.out).toContain('Doubt: the orbits of the plan are known for 0 % of its span; the rest is not counted.'); // prettier-ignore
  expect(told.out).toContain(
    'All bases stand clear of the zone of influence.\nAll monitoring stations stand in the zone of influence.',
  );

  await writeFile(join(project, 'o.geojson'), ring([corners[0]!, corners[2]!, corners[1]!, corners[3]!]));
  const crossed = await stillmark(['check', project]);
  expect(crossed.code).toBe(1);
  expect(crossed.err).toContain('the zone zone crosses itself');
});

test('what is not given is asked for, and again where an answer cannot be used', async () => {
  const project = join(folder, 'asked');
  const answers = ['A bridge', '8', '8 mm', '15 mm', '', 'Mars/Olympus', 'Europe/Vienna', '', '', '', 'B1,base,rock,95,11.2,1200', ...stations.slice(0, 1), '', stations[0]!, ...stations.slice(1), '']; // prettier-ignore
  const written = await stillmark(['init', project, '--ask'], { input: `${answers.join('\n')}\n` });
  expect(written).toMatchObject({ code: 0 });
  for (const reason of [
    "'8' is not a length; such as 10 mm or 1.5 cm",
    "'Mars/Olympus' is not a time zone",
    "'95' is no latitude; decimal degrees",
    'B1 is there already',
    'at least two stations',
  ])
    expect(written.err).toContain(reason);
  expect(parse(await readFile(join(project, 'project.yaml'), 'utf8'))).toMatchObject({
    title: 'A bridge',
    timeZone: 'Europe/Vienna',
    processingInterval: '24 h',
    requirement: { horizontal: '8 mm', up: '15 mm' },
    stations: [{ id: 'B1' }, { id: 'B2' }, { id: 'S1' }],
  });
  expect((await stillmark(['check', project])).code).toBe(0);

  const ended = await stillmark(['init', join(folder, 'ended'), '--ask'], { input: 'A bridge\n' });
  expect(ended).toMatchObject({ code: 2 });
  expect(ended.err).toContain('the answers end before all is known; nothing was written');
  await expect(readFile(join(folder, 'ended', 'project.yaml'))).rejects.toThrow('ENOENT');
  const silent = await stillmark(['init', join(folder, 'ended'), '--title', 'x']);
  expect(silent.err).toContain('--stations, --horizontal, --up are missing');
});
