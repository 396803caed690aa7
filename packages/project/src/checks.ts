import { problem, type Problem } from '@stillmark/problems';
import { dayMs } from '@stillmark/records';
import { columns } from './columns-checks.ts';
import { processings, surveys } from './evidence-checks.ts';
import { at } from './explain.ts';
import { frames } from './frames-checks.ts';
import { decisions, lines, responses, successions } from './lines-checks.ts';
import { health } from './health-checks.ts';
import type { LocatedYaml } from './locate.ts';
import { plan } from './plan-checks.ts';
import { acknowledgements, alarmLoads, triggers } from './triggers-checks.ts';
import type { z } from 'zod';
import type { projectSchema } from './schema.ts';

type Project = z.output<typeof projectSchema>;

/** What a schema cannot say: names that must exist, must differ, or must fit each other. */
export function crossCheck(project: Project, yaml: LocatedYaml): Problem[] {
  return [
    ...stationIds(project, yaml),
    ...places(project, yaml),
    ...streams(project, yaml),
    ...columns(project, yaml),
    ...frames(project, yaml),
    ...preferences(project, yaml),
    ...sensors(project, yaml),
    ...events(project, yaml),
    ...windows(project, yaml),
    ...responses(project, yaml),
    ...lines(project, yaml),
    ...successions(project, yaml),
    ...decisions(project, yaml),
    ...surveys(project, yaml),
    ...processings(project, yaml),
    ...triggers(project, yaml),
    ...alarmLoads(project, yaml),
    ...acknowledgements(project, yaml),
    ...health(project, yaml),
    ...plan(project, yaml),
    ...layers(project, yaml),
    ...released(project, yaml),
  ];
}

/** Two layers of one name cannot be told apart in the key. */
function layers({ background }: Project, yaml: LocatedYaml): Problem[] {
  const own = background?.layers ?? [];
  const twice = own.flatMap(({ name }, i) =>
    own.findIndex((other) => other.name === name) < i
      ? [
          at(yaml, yaml.locate(['background', 'layers', i, 'name']), (more) =>
            problem('PROJECT_DUPLICATE', `two layers are called ${name}`, more),
          ),
        ]
      : [],
  );
  const empty = background && !background.image && own.length === 0;
  return empty
    ? [
        at(yaml, yaml.locate(['background']), (more) =>
          problem('PROJECT_VALUE', 'the background has neither an image nor a layer', {
            ...more,
            hint: 'image: { file: site.png, name: relief }',
          }),
        ),
      ]
    : twice;
}

/** What is not to be released must be there: a slip in an id would let out what was to stay. */
function released({ release, stations }: Project, yaml: LocatedYaml): Problem[] {
  const ids = stations.map(({ id }) => id);
  return (release?.hide.stations ?? []).flatMap((id, i) =>
    ids.includes(id)
      ? []
      : [
          at(yaml, yaml.locate(['release', 'hide', 'stations', i]), (more) =>
            problem('PROJECT_REFERENCE', `${id} is to be hidden, and is not a station`, {
              ...more,
              allowed: ids,
            }),
          ),
        ],
  );
}

function stationIds(project: Project, yaml: LocatedYaml): Problem[] {
  const problems: Problem[] = [];
  // Pages are files: on a disk that ignores case, T1 and t1 would be one page.
  const seen = new Map<string, number>();
  project.stations.forEach((station, i) => {
    const key = station.id.toLowerCase();
    const first = seen.get(key);
    if (first === undefined) {
      seen.set(key, i);
      return;
    }
    const { line } = yaml.locate(['stations', first, 'id']);
    problems.push(
      at(yaml, yaml.locate(['stations', i, 'id']), (more) =>
        problem('PROJECT_DUPLICATE', `station ${station.id} is defined twice, first in line ${line}`, {
          ...more,
          hint: 'ids that differ in more than upper and lower case',
        }),
      ),
    );
  });
  return problems;
}

/** Kilometres: no network of vectors between antennas is wider. */
const widest = 100;

/** A station far from all others has a slip in its coordinates; latitude and longitude exchanged is the usual one. */
function places({ stations }: Project, yaml: LocatedYaml): Problem[] {
  const near = (a: LatLon, b: LatLon): boolean => kilometres(a, b) <= widest;
  const together = (place: LatLon, self: number): number =>
    stations.filter((other, k) => k !== self && near(place, other.position)).length;
  return stations.flatMap(({ id, position }, i) => {
    if (2 * together(position, i) >= stations.length - 1) return [];
    const { latitude, longitude } = position;
    const exchanged = together({ latitude: longitude, longitude: latitude }, i) > together(position, i);
    return [
      at(yaml, yaml.locate(['stations', i, 'position']), (more) =>
        problem('PROJECT_VALUE', `${id} stands more than ${widest} km from most other stations`, {
          ...more,
          hint: exchanged
            ? 'latitude and longitude the other way round'
            : 'latitude and longitude in degrees, north and east positive',
        }),
      ),
    ];
  });
}

interface LatLon {
  readonly latitude: number;
  readonly longitude: number;
}

/** Distance on a sphere, to tell near from far. */
function kilometres(a: LatLon, b: LatLon): number {
  const rad = (deg: number): number => (deg * Math.PI) / 180;
  const h =
    Math.sin(rad(b.latitude - a.latitude) / 2) ** 2 +
    Math.cos(rad(a.latitude)) * Math.cos(rad(b.latitude)) * Math.sin(rad(b.longitude - a.longitude) / 2) ** 2;
  return 2 * 6371 * Math.asin(Math.min(1, Math.sqrt(h)));
}

/** Frames in which the plate motion model of an ITRF holds: itself, and what is equal to it by definition. */
const framesOfModel: Readonly<Record<string, readonly string[]>> = {
  ITRF2020: ['ITRF2020', 'IGS20', 'IGb20'],
  ITRF2014: ['ITRF2014', 'IGS14', 'IGb14'],
};

function streams(project: Project, yaml: LocatedYaml): Problem[] {
  const problems: Problem[] = [];
  const bases = project.stations.filter((s) => s.role === 'base').map((s) => s.id);
  const needed = bases.length > 0 ? { allowed: bases } : { hint: 'a station with role base' };
  const seen = new Map<string, number>();
  project.streams.forEach((stream, i) => {
    const say = (key: string, code: Problem['code'], message: string, more: Partial<Problem>): unknown =>
      problems.push(
        at(yaml, yaml.locate(['streams', i, key]), (place) => problem(code, message, { ...place, ...more })),
      );
    const key = stream.name.toLowerCase();
    const first = seen.get(key);
    if (first === undefined) seen.set(key, i);
    else {
      const { line } = yaml.locate(['streams', first, 'name']);
      say('name', 'PROJECT_DUPLICATE', `stream ${stream.name} is defined twice, first in line ${line}`, {
        hint: 'names that differ in more than upper and lower case',
      });
    }
    if (stream.kind === 'absolute') {
      if (stream.base !== undefined)
        say('base', 'PROJECT_VALUE', `stream ${stream.name} is absolute: it has no held base`, {
          hint: 'kind: relative, or no base',
        });
      if (!stream.plate)
        say(
          'kind',
          'PROJECT_VALUE',
          `stream ${stream.name} is absolute: its positions move with their plate, centimetres a year, which would be told as displacement`,
          { hint: 'plate: { model: ITRF2020, name: EURA, epoch: 2026.0 }' },
        );
      else if (!framesOfModel[stream.plate.model]!.includes(project.frame.name))
        say(
          'plate',
          'PROJECT_VALUE',
          `the plate motion model of ${stream.plate.model} does not hold in the frame ${project.frame.name}`,
          { allowed: framesOfModel[stream.plate.model]! },
        );
      return;
    }
    if (stream.plate)
      say(
        'plate',
        'PROJECT_VALUE',
        `stream ${stream.name} is relative to a held base: base and station move with the plate together, and taking its motion off would put it in`,
        { hint: 'no plate' },
      );
    if (stream.base === undefined) {
      say('name', 'PROJECT_VALUE', `stream ${stream.name} does not say which base is held`, needed);
      return;
    }
    const base = project.stations.find((s) => s.id === stream.base);
    if (base?.role === 'base') return;
    say(
      'base',
      'PROJECT_REFERENCE',
      base
        ? `stream ${stream.name} is processed from ${stream.base}, which is a monitoring station`
        : `stream ${stream.name} is processed from ${stream.base}, which is not a station`,
      needed,
    );
  });
  return problems;
}

/** The streams that stations prefer. */
function preferences({ stations, streams: all }: Project, yaml: LocatedYaml): Problem[] {
  return stations.flatMap(({ id, stream: preferred }, i) => {
    if (preferred === undefined) return [];
    const found = all.find((s) => s.name === preferred);
    if (found && found.base !== id) return [];
    return [
      at(yaml, yaml.locate(['stations', i, 'stream']), (more) =>
        problem(
          'PROJECT_REFERENCE',
          found
            ? `${id} is held in stream ${preferred}, which can say nothing of it`
            : `${id} prefers stream ${preferred}, which is not defined`,
          { ...more, allowed: all.filter((s) => s.base !== id).map((s) => s.name) },
        ),
      ),
    ];
  });
}

function sensors({ sensors: all }: Project, yaml: LocatedYaml): Problem[] {
  const seen = new Map<string, number>();
  return all.flatMap(({ name }, i) => {
    const first = seen.get(name.toLowerCase());
    if (first === undefined) {
      seen.set(name.toLowerCase(), i);
      return [];
    }
    const { line } = yaml.locate(['sensors', first, 'name']);
    return [
      at(yaml, yaml.locate(['sensors', i, 'name']), (more) =>
        problem('PROJECT_DUPLICATE', `sensor ${name} is defined twice, first in line ${line}`, {
          ...more,
          hint: 'names that differ in more than upper and lower case',
        }),
      ),
    ];
  });
}

function events({ stations, streams: all, events: list }: Project, yaml: LocatedYaml): Problem[] {
  const ids = stations.map((s) => s.id);
  const bases = stations.filter((s) => s.role === 'base').map((s) => s.id);
  return list.flatMap((event, i) => {
    const say = (key: string, message: string, allowed: string[]): Problem =>
      at(yaml, yaml.locate(['events', i, key]), (more) =>
        problem('PROJECT_REFERENCE', message, { ...more, allowed }),
      );
    const problems: Problem[] = [];
    if (event.station !== undefined && !ids.includes(event.station))
      problems.push(say('station', `event ${i + 1} names ${event.station}, which is not a station`, ids));
    else if (event.kind === 'instrument' && event.station === undefined)
      problems.push(say('kind', `event ${i + 1} is of an instrument, but names no station`, ids));
    else if (event.kind === 'base' && !bases.includes(event.station ?? ''))
      problems.push(say('kind', `event ${i + 1} is of a base, but names none`, bases));
    const names = all.map((s) => s.name);
    if (event.stream !== undefined && !names.includes(event.stream))
      problems.push(say('stream', `event ${i + 1} names ${event.stream}, which is not a stream`, names));
    return problems;
  });
}

/** Shorter windows would make more of them than noise can be learnt from. */
const leastWindowMs = 600_000;

function windows(project: Project, yaml: LocatedYaml): Problem[] {
  const { window, present, rate } = project.statements;
  const say = (key: string, message: string, hint: string): Problem =>
    at(yaml, yaml.locate(['statements', key]), (more) =>
      problem('PROJECT_VALUE', `${key} of statements ${message}`, { ...more, hint }),
    );
  const multiple = 'a multiple of the window, such as';
  return [
    ...(window < leastWindowMs || dayMs % window !== 0
      ? [
          say(
            'window',
            'is shorter than 10 min or does not divide a day',
            '1 h, 2 h, 3 h, 4 h, 6 h, 8 h, 12 h or 24 h',
          ),
        ]
      : []),
    ...(present % window === 0
      ? []
      : [say('present', 'is not a whole number of windows', `${multiple} 24 h`)]),
    ...(rate % window === 0 && rate >= 8 * window
      ? []
      : [say('rate', 'is not a whole number of windows, eight or more', `${multiple} 30 d`)]),
  ];
}
