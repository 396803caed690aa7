import type { z } from 'zod';
import { duration, length } from './quantities.ts';
import { timeZone } from './schema.ts';
import { text } from './text-schema.ts';

/** What a new project begins with. */
export interface StarterTask {
  readonly title: string;
  readonly timeZone: string;
  readonly frame: string;
  readonly ellipsoid: string;
  /** As project files write lengths and times: `8 mm`, `24 h`. */
  readonly horizontal: string;
  readonly up: string;
  readonly interval: string;
  readonly stations: readonly {
    readonly id: string;
    readonly role: 'base' | 'monitoring';
    readonly on: string;
    readonly latitude: number;
    readonly longitude: number;
    readonly height: number;
  }[];
}

/**
 * The text of a commented `project.yaml` of a network that is processed from each of its bases. Values are written as JSON, which YAML reads; the
 * reader of project files judges them.
 */
export function starterProject({ stations, ...task }: StarterTask): string {
  const bases = stations.filter(({ role }) => role === 'base');
  const quoted = (text: string): string => JSON.stringify(text);
  return `# The project file. Every key is explained by \`stillmark schema --markdown\`; \`stillmark check\` names what is wrong, by line and column.
stillmark: 1
title: ${quoted(task.title)}

# Pages show times in this zone (IANA name); delivered files carry their own.
timeZone: ${quoted(task.timeZone)}

# Positions are in this frame. The epoch of held coordinates belongs here too: epoch: '2026.7'
frame: { name: ${quoted(task.frame)}, ellipsoid: ${quoted(task.ellipsoid)} }

# Time between processing runs. A page is out of date after two of them.
processingInterval: ${quoted(task.interval)}

# The smallest movement that must be found. It comes from what the structure bears, and is set by the responsible engineer.
requirement: { horizontal: ${quoted(task.horizontal)}, up: ${quoted(task.up)} }

# What a reference period must show beside two weeks of positions: constellations that are tracked through their whole repeat cycle.
reference: { constellations: [GPS, Galileo] }

# Plan of the site in GeoJSON, longitude first; an area of kind zone is the zone of influence:
# outline: outline.geojson
# What lies under it: an image with its world file beside it (site.pgw), on the map of the project or another one, and lines such as contours:
# background:
#   image: { file: site.png, name: aerial photograph, coordinates: "EPSG:25832" }
#   layers: [{ file: contours.geojson, name: contours, labels: elevation }]

# What is expected of the noise until it is measured (means of 6 h; flicker in mm per year to the power of one quarter), of a like network or
# of a test in the office. With it the page of the plan tells how small a movement will be found:
# assumedNoise:
#   horizontal: { white: 1.5 mm, flicker: 2 mm }
#   up: { white: 3 mm, flicker: 4 mm }
#   source: where these figures are from

# Bases stand on stable ground outside of what may move, and more than one: a base that moves looks like a movement of everything.
# Further keys of a station: antenna, monument, installed, receiver (specification), horizon (what stands around it).
stations:
${stations
  .map(
    ({ id, role, on, latitude, longitude, height }) =>
      `  - { id: ${quoted(id)}, role: ${role}, on: ${quoted(on)}, position: { latitude: ${latitude}, longitude: ${longitude}, height: ${height} } }`,
  )
  .join('\n')}

# Positions of one processing: vectors from a base whose coordinates are held, a CSV row for each epoch. The first is stated first. Other
# forms (SINEX, NMEA, other columns, decimal commas) are declared here.
streams:
${bases
  .map(
    ({ id }, i) => `  - name: ${quoted(`from-${id}`.slice(0, 24))}
    kind: relative
    base: ${quoted(id)}
    solution: epoch-wise # or filtered, where positions lean on earlier ones
    files: [${quoted(`positions/from-${id}/*.csv`)}]
    columns: ${
      i === 0
        ? '&columns { station: station, time: time, x: x, y: y, z: z, xx: cxx, xy: cxy, xz: cxz, yy: cyy, yz: cyz, zz: czz }'
        : '*columns'
    }`,
  )
  .join('\n')}

# What is planned before anything moves; \`stillmark plan\` tells what follows from it. Dates are those of your project:
# plan:
#   start: 2027-05-01 # when the first displacement is wanted
#   installation: { from: 2027-03-01, to: 2027-03-14 }
#   orders: [{ what: receivers, ordered: 2026-12-01, lead: 70 d }]
#   sky: { orbits: [orbits/*.nav], from: 2027-03-01T00:00:00Z }
`;
}

/** What a new project is asked for, beside its stations. */
export interface StarterQuestion {
  readonly key: Exclude<keyof StarterTask, 'stations'>;
  readonly ask: string;
  /** What holds where nothing is answered. */
  readonly fallback?: string;
  /** What is wrong with an answer; undefined where it can be used. */
  readonly wrong: (answer: string) => string | undefined;
}

/** The reason of a schema, with what would be right. */
const by =
  (schema: z.ZodType) =>
  (answer: string): string | undefined => {
    const { error } = schema.safeParse(answer);
    if (!error) return undefined;
    const examples = schema.meta()?.['examples'] as readonly string[] | undefined;
    return `${error.issues[0]!.message}${examples ? `; such as ${examples.join(' or ')}` : ''}`;
  };

export const starterQuestions: readonly StarterQuestion[] = [
  { key: 'title', ask: 'Title of the project', wrong: by(text) },
  { key: 'horizontal', ask: 'Smallest horizontal movement that must be found', wrong: by(length) },
  { key: 'up', ask: 'The same up or down', wrong: by(length) },
  { key: 'interval', ask: 'Time between processing runs', fallback: '24 h', wrong: by(duration) },
  {
    key: 'timeZone',
    ask: 'Time zone in which pages show times (IANA name)',
    fallback: 'UTC',
    wrong: by(timeZone),
  },
  { key: 'frame', ask: 'Reference frame of the positions', fallback: 'ITRF2020', wrong: by(text) },
  {
    key: 'ellipsoid',
    ask: 'Ellipsoid, GRS 1980 or WGS 84',
    fallback: 'GRS 1980',
    wrong: (answer) =>
      ['GRS 1980', 'WGS 84'].includes(answer) ? undefined : `'${answer}' is neither GRS 1980 nor WGS 84`,
  },
];
